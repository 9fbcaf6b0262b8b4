package main

import (
	"fmt"
	"os"
	"strings"

	"github.com/spf13/cobra"

	"hilrig/rig"
	"hilrig/rig/board"
	"hilrig/rig/raspberry"
	"hilrig/rig/raspberry/guard"
	"hilrig/rig/raspberry/header"
	"hilrig/rig/signal"
	"hilrig/suites"
	"hilrig/suites/file"
)

// memoryBoard returns a bench in memory with a board of the program behind it.
func memoryBoard(w *header.Wires) *suites.Real {
	return &suites.Real{Kind: "memory bank", Board: true, Open: func(layout signal.Layout, b board.Board) (rig.Bench, error) {
		pins := pinsOf(layout, w.Pins)
		bank, err := raspberry.NewBoarded(b, layout, pins)
		if err != nil {
			return nil, err
		}
		return raspberry.New(raspberry.Settings{Layout: layout, Bank: bank, Pins: pins, Seat: raspberry.DefaultSeat(os.DirFS("/"))})
	}}
}

// pinsOf returns the pins of a layout's lines. Those that have none, as the lines of a
// port on an adapter, are given one that is free.
func pinsOf(layout signal.Layout, named map[string]int) raspberry.Pins {
	used := map[int]bool{}
	for _, n := range named {
		used[n] = true
	}
	free := 0
	pins := make(raspberry.Pins, len(layout.Lines))
	for i, l := range layout.Lines {
		n := named[l.Name]
		if n == 0 {
			for used[free] {
				free++
			}
			n = free
			used[n] = true
		}
		pins[i] = uint8(n)
	}
	return pins
}

// openLines opens the lines of this machine one by one. Where it cannot, that is a
// finding.
func (r *readiness) openLines(model header.Model) {
	r.stage("lines", func() []raspberry.Finding {
		r.open = func() (err error) {
			r.lines, err = raspberry.OpenLines(model)
			return err
		}
		if err := r.open(); err != nil {
			r.lines = nil
			return failed(err)
		}
		return []raspberry.Finding{{Check: "lines", Says: "opened by " + model.Limits().Way.String()}}
	})
}

// realOn returns the bench on this machine's pins.
func realOn(b *file.Bench, model header.Model) (*suites.Real, error) {
	reset := 0
	if b.Board.Reset != "none" {
		reset = b.Pins["reset"]
	}
	return &suites.Real{Kind: model.String(), Restarts: reset > 0, Open: func(layout signal.Layout, _ board.Board) (rig.Bench, error) {
		for _, l := range layout.Lines {
			if b.Pins[l.Name] == 0 {
				return nil, fmt.Errorf("%s has no pin; give it one under pins, or at its port", l.Name)
			}
		}
		s := raspberry.PinSettings{Layout: layout, Pins: pinsOf(layout, b.Pins), Reset: reset, Seat: raspberry.DefaultSeat(os.DirFS("/"))}
		for _, m := range b.Wiring.Motors {
			s.Formats = append(s.Formats, m.Kind)
		}
		return raspberry.OpenPins(model, s)
	}}, nil
}

// timing lets the machine keep time for a moment, changing no pin.
func (r *readiness) timing(c *cobra.Command, setup *suites.Setup, model header.Model) []raspberry.Finding {
	if model.Limits().Way != header.Mapped {
		return notTried("time kept", "the kernel stamps the edges here, and no loop reads the pins")
	}
	bank, err := raspberry.OpenRegisters(model)
	if err != nil {
		return failed(err)
	}
	defer bank.Close()
	edges := 0.0
	for _, s := range setup.Suites {
		edges = max(edges, file.MostEdges(s, setup.Car, setup.Bench))
	}
	found, err := raspberry.TryTime(c.Context(), bank, raspberry.DefaultSeat(os.DirFS("/")), setup.Bench.Wiring.Motors[0].Kind, edges)
	if err != nil {
		return failed(err)
	}
	return found
}

// failed is what is found where something could not be done at all.
func failed(err error) []raspberry.Finding {
	says, cure, ok := strings.Cut(err.Error(), "; ")
	if !ok {
		cure = "see to that first"
	}
	return []raspberry.Finding{{Check: "bench", Grade: raspberry.Wrong, Says: says, Cure: cure}}
}

// noteTested notes which parts of the interlock passed since this machine was started:
// with powered motors nothing goes live without.
func (r *readiness) noteTested(passed rig.InterlockParts) error {
	state, err := stateFolder()
	if err != nil {
		return err
	}
	return guard.NoteTested(state, guard.Pins{Stop: r.wires.Stop, Relay: r.wires.Relay, Heartbeat: r.wires.Heartbeat}, passed)
}
