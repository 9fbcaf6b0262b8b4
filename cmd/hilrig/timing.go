package main

import (
	"errors"
	"fmt"
	"time"

	"github.com/spf13/cobra"

	"hilrig/cmd/hilrig/usage"
	"hilrig/rig/raspberry/chardev"
	"hilrig/rig/raspberry/claim"
	"hilrig/rig/raspberry/pinout"
	"hilrig/rig/raspberry/realtime"
	"hilrig/rig/raspberry/registers"
	"hilrig/rig/signal"
	"hilrig/suites/live"
	"hilrig/suites/report"
)

// timingFlags are the flags of timing.
type timingFlags struct {
	length time.Duration
	bank   string
	chip   string
	jumper string
	edges  float64
	asked  bool // edges were named
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
to any: no pin moves, so that nothing has to be wired, nor taken off.

On a Pi 5 it calls the kernel's character device at the edges' times, and reads
lines that nobody uses where a bench would set others: no pin changes there
either. How late the kernel stamps the edges of captured lines, and whether it
loses any, shows only where there are edges: take the board off, join two pins
with a jumper, and name them with --jumper. One is driven then and the other
listens. That is refused where something else holds either of them, or where the
jumper is missing; both are inputs again afterwards. With --chip a jumper on any
chip of a Linux machine is measured, by the numbers of its lines.

With --bank memory a word in memory stands for the pins: what comes out says how
well this machine keeps time, and nothing of a Pi.

The program starts itself anew with GODEBUG=asyncpreemptoff=1, GOGC=off and a
GOMAXPROCS of at least 3. Ctrl-C ends it with what there is by then. Ends with 0
when it has measured, whatever came out, and with 2 where it cannot measure.`,
		Example: `  hilrig timing
  hilrig timing --bank memory --for 10s --svg timing.svg
  hilrig timing --jumper 17,22`,
		Args: usage.Arguments(0, 0),
		RunE: func(c *cobra.Command, _ []string) error {
			f.asked = c.Flags().Changed("edges")
			return f.run(c)
		},
	}
	flags := c.Flags()
	flags.DurationVar(&f.length, "for", time.Minute, "how long to measure, `TIME` as 10s")
	flags.StringVar(&f.bank, "bank", "", "`memory`: measure with a word in memory in place of pins")
	flags.StringVar(&f.jumper, "jumper", "", "drive one GPIO and listen on another, `OUT,IN`, that you have connected; nothing else may be wired to them")
	flags.StringVar(&f.chip, "chip", "", "with --jumper: on the GPIO chip at `PATH`, as /dev/gpiochip0")
	flags.Float64Var(&f.edges, "edges", 0, "play so many encoder edges a second; left out, 1.5 million, four wheels of 1024 lines at 90 turns a second; by the character device 100000, over a jumper 10000")
	flags.StringVar(&f.svg, "svg", "", "draw the histograms into `FILE`")
	flags.BoolVar(&f.json, "json", false, "print what was measured as JSON, in s and Hz")
	return c
}

// timed is what timing measured.
type timed struct{ *live.Timed }

// run measures and prints.
func (f *timingFlags) run(c *cobra.Command) error {
	if err := f.check(); err != nil {
		return err
	}
	settings := live.TimingSettings{Memory: f.bank == inMemory, Chip: f.chip, Jumper: f.jumper, For: signal.Time(f.length), Turns: turns}
	if f.asked {
		settings.Edges = &f.edges
	}
	measured, measure, err := live.PrepareTiming(settings)
	switch {
	case errors.As(err, new(live.WrongUse)):
		return err
	case err != nil:
		return f.cannot(c, err)
	}
	if err := realtime.EnterRealTime(); err != nil {
		fmt.Fprintln(c.ErrOrStderr(), "hilrig: timing:", err)
	}
	if f.bank != inMemory {
		lines, err := live.Claim(workerOf(c.Context()) != nil, claim.Pins)
		if err != nil {
			return f.cannot(c, err)
		}
		defer live.Release(lines)
	}
	if link := measure.Link; link != nil && !cautioned(c, *link) {
		return endWith(exitNotShown)
	}
	shown := progressOf(c)
	err = measure.Run(c.Context(), func(done signal.Time) { shown.Show(fmt.Sprintf("%.0f of %.0f s", done.Seconds(), f.length.Seconds())) })
	shown.Wipe()
	if err != nil {
		return f.cannot(c, err)
	}
	return f.give(screenOn(c.OutOrStdout()), &timed{measured})
}

// check refuses wrong use.
func (f *timingFlags) check() error {
	switch {
	case f.bank != "" && f.bank != inMemory:
		return fmt.Errorf("timing: --bank %s is not known; use memory, or leave it out on a Pi", f.bank)
	case f.bank != "" && (f.jumper != "" || f.chip != ""):
		return errors.New("timing: --bank memory has no pins to join; leave it out, or --jumper and --chip")
	case f.chip != "" && f.jumper == "":
		return errors.New("timing: --chip needs --jumper: which lines of a chip can be read without harm is known of a Pi's header alone")
	case f.length < time.Millisecond || f.length > 24*time.Hour:
		return fmt.Errorf("timing: --for %v; measure for 1ms to 24h", f.length)
	case !(f.edges >= 0 && f.edges <= registers.MostEdges):
		return fmt.Errorf("timing: --edges %g; ask for 0 to %.0f a second", f.edges, float64(registers.MostEdges))
	}
	return nil
}

// cannot says why nothing was measured.
func (f *timingFlags) cannot(c *cobra.Command, err error) error {
	fmt.Fprintln(c.ErrOrStderr(), "hilrig: timing:", err)
	return endWith(exitNotShown)
}

// cautioned says what will be driven, and whether a person wants that.
func cautioned(c *cobra.Command, link chardev.Link) bool {
	out := c.ErrOrStderr()
	fmt.Fprintf(out, `
Before %[1]s is driven:
  - Take the board off the header. Disconnect the motors' supply.
  - Join %[1]s%[3]s to %[2]s%[4]s over 330 ohm or more, and wire nothing else to either.
    A line that only listens is not noticed, and takes every edge for a command.
  - A Pi takes 3.3 V and no more at any pin.
  - This program is not a safety device. Have it checked by somebody qualified,
    and follow your local rules.
`, pinout.GPIO(link.Out), pinout.GPIO(link.In), position(link.Out), position(link.In))
	p := attendedBy(c)
	p.out = out
	if yes, err := p.ask("All of it is done, and I go on: yes or no?"); err != nil || !yes {
		fmt.Fprintln(out, "hilrig: timing: not confirmed; no pin was touched")
		return false
	}
	return true
}

// position says where on a Pi's header a line is.
func position(gpio int) string {
	if n := pinout.Position(gpio); n > 0 {
		return fmt.Sprintf(" (pin %d)", n)
	}
	return ""
}

// give draws what was measured and prints it: in that order, for who reads only the
// first lines ends the program.
func (f *timingFlags) give(out *screen, t *timed) error {
	drawn := f.draw(t)
	if f.json {
		return errors.Join(out.JSON(t.JSON()), drawn)
	}
	t.print(out)
	return drawn
}

// draw draws what was measured.
func (f *timingFlags) draw(t *timed) error {
	if f.svg == "" {
		return nil
	}
	picture, err := t.picture()
	if err != nil {
		return fmt.Errorf("timing: %w", err)
	}
	return report.WriteFile(f.svg, picture)
}
