package main

import (
	"errors"
	"fmt"
	"io"
	"os"
	"time"

	"github.com/spf13/cobra"

	"hilrig/rig/raspberry"
	"hilrig/rig/raspberry/header"
	"hilrig/rig/signal"
)

// timingFlags are the flags of timing.
type timingFlags struct {
	length time.Duration
	bank   string
	edges  float64
	svg    string
	json   bool
}

// inMemory is the word for a bank in memory.
const inMemory = "memory"

// newTiming returns the command that measures how well the machine keeps time.
func newTiming() *cobra.Command {
	var f timingFlags
	c := &cobra.Command{
		Use:   "timing",
		Short: "measure how well this machine keeps time, and what it can play and read",
		Long: `Runs the loop that plays and samples, with the edges of four turning wheels to
play, and shows how far its reads were apart, how late the edges were, and what
follows: which formats of motor commands can be read here, which encoders played.

On a Pi 3 or 4 it reads the pins and writes to their registers without a change
to any: no pin moves, so that nothing has to be wired, nor taken off. The
character device, by which a Pi 5 is played, is not measured yet. With --bank
memory a word in memory stands for the pins: what comes out says how well this
machine keeps time, and nothing of a Pi.

The program starts itself anew with GODEBUG=asyncpreemptoff=1, GOGC=off and a
GOMAXPROCS of at least 3. Ctrl-C ends it with what there is by then. Ends with 0
when it has measured, whatever came out, and with 2 where it cannot measure.`,
		Example: `  hilrig timing
  hilrig timing --bank memory --for 10s --svg timing.svg`,
		Args: cobra.NoArgs,
		RunE: func(c *cobra.Command, _ []string) error { return f.run(c) },
	}
	flags := c.Flags()
	flags.DurationVar(&f.length, "for", time.Minute, "how long to measure, `TIME` as 10s")
	flags.StringVar(&f.bank, "bank", "", "`memory`: measure with a word in memory in place of pins")
	flags.Float64Var(&f.edges, "edges", 1.5e6, "play so many encoder edges a second; the default is four wheels of 1024 lines at 90 turns a second")
	flags.StringVar(&f.svg, "svg", "", "draw both histograms into `FILE`")
	flags.BoolVar(&f.json, "json", false, "print what was measured as JSON, in s and Hz")
	return c
}

// timed is what timing measured, and on what.
type timed struct {
	on     string // "the registers of a Pi 4B"
	memory bool   // it says nothing of a Pi
	seat   raspberry.Seat
	asked  float64 // edges a second
	kept   *raspberry.Kept
}

// run measures and prints.
func (f *timingFlags) run(c *cobra.Command) error {
	if f.bank != "" && f.bank != inMemory {
		return fmt.Errorf("timing: --bank %s is not known; use memory, or leave it out on a Pi", f.bank)
	}
	if f.length < time.Millisecond || f.length > 24*time.Hour {
		return fmt.Errorf("timing: --for %v; measure for 1ms to 24h", f.length)
	}
	if !(f.edges >= 0 && f.edges <= raspberry.MostEdges) {
		return fmt.Errorf("timing: --edges %g; ask for 0 to %g a second", f.edges, float64(raspberry.MostEdges))
	}
	t, bank, err := f.pins()
	if err != nil {
		fmt.Fprintln(c.ErrOrStderr(), "hilrig: timing:", err)
		return endWith(exitNotShown)
	}
	if err := raspberry.Hasten(); err != nil {
		fmt.Fprintln(c.ErrOrStderr(), "hilrig: timing:", err)
	}
	shown := progressOn(c.ErrOrStderr())
	t.kept, err = raspberry.TimingTrial{
		Bank: bank, Seat: t.seat, For: signal.Time(f.length), Edges: f.edges,
		Progress: func(done signal.Time) {
			shown.show(func() string { return fmt.Sprintf("%.0f of %.0f s", done.Seconds(), f.length.Seconds()) })
		},
	}.Run(c.Context())
	shown.wipe()
	if err != nil {
		fmt.Fprintln(c.ErrOrStderr(), "hilrig: timing:", err)
		return endWith(exitNotShown)
	}
	return f.give(c.OutOrStdout(), t)
}

// pins returns what to measure on.
func (f *timingFlags) pins() (t *timed, bank raspberry.Bank, err error) {
	root := os.DirFS("/")
	t = &timed{memory: f.bank == inMemory, asked: f.edges, seat: raspberry.DefaultSeat(root)}
	if t.memory {
		t.on = "a word in memory in place of pins"
		return t, &raspberry.Memory{}, nil
	}
	host := header.Identify(root)
	const instead = "hilrig timing --bank memory measures this machine with a word in memory in place of pins"
	switch host.Model.Limits().Way {
	case header.Mapped:
		registers, err := raspberry.OpenRegisters(host.Model)
		if err != nil {
			return nil, nil, fmt.Errorf("%w; %s", err, instead)
		}
		t.on = "the registers of a " + host.Model.String() + ", no pin changed"
		return t, raspberry.LeaveAlone(registers), nil
	case header.CharacterDevice:
		return nil, nil, fmt.Errorf("the pins of a %v are played by the character device, which is not measured yet; %s", host.Model, instead)
	}
	return nil, nil, errors.New("this is no Raspberry Pi whose pins hilrig knows; " + instead)
}

// give prints what was measured and draws it.
func (f *timingFlags) give(out io.Writer, t *timed) error {
	if f.json {
		if err := t.printJSON(out); err != nil {
			return err
		}
	} else {
		t.print(out)
	}
	if f.svg == "" {
		return nil
	}
	picture, err := t.picture()
	if err != nil {
		return fmt.Errorf("timing: %w", err)
	}
	return os.WriteFile(f.svg, picture, 0o666)
}
