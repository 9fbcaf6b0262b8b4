package main

import (
	"fmt"
	"os"
	"time"

	firmware "hilrig/rig/board"
	"hilrig/rig/process"
	"hilrig/rig/signal"
)

// demoBoard is the first built-in board as a program of its own: demoboard SEED [FAULT]. The
// fault dies, hangs or says nothing that a board says.
func demoBoard() {
	settings, seed, fault := firmware.Bramble(), uint64(0), ""
	if len(os.Args) > 1 {
		_, _ = fmt.Sscan(os.Args[1], &seed)
	}
	if len(os.Args) > 2 {
		fault = os.Args[2]
	}
	fmt.Fprintln(os.Stderr, "demoboard: flash image 7 found")
	err := process.Serve(os.Stdin, os.Stdout, func(l *signal.Layout) (firmware.Board, error) {
		for i := range l.Lines {
			l.Lines[i].Idle = l.Lines[i].Name == "yaw_serial"
		}
		if fault != "" && fault != "dies" && fault != "hangs" {
			var err error
			if settings, err = firmware.WithFault(settings, fault); err != nil {
				return nil, err
			}
		}
		b, err := firmware.NewBuiltIn(settings, *l, seed)
		return &failing{b, fault}, err
	})
	if err != nil {
		fmt.Fprintln(os.Stderr, "demoboard:", err)
		os.Exit(4)
	}
}

// failing is a board that fails after 5 s of the run.
type failing struct {
	firmware.Board
	fault string
}

// Run runs the board.
func (b *failing) Run(in []signal.Edge, until signal.Time, out []signal.Edge) ([]signal.Edge, error) {
	if until > 5*signal.Second {
		switch b.fault {
		case "dies":
			return out, fmt.Errorf("hard fault at 0x%08x", 0x0800_1234)
		case "hangs":
			time.Sleep(time.Hour)
		}
	}
	return b.Board.Run(in, until, out)
}
