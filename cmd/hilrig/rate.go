package main

import (
	"fmt"

	"github.com/spf13/cobra"

	"hilrig/cmd/hilrig/usage"
	"hilrig/suites"
)

// rateFlags are the flags of rate.
type rateFlags struct {
	inputFlags
	live                liveFlags
	verbose, find, json bool
}

// newRate returns the command that measures how fast a board is.
func newRate() *cobra.Command {
	var f rateFlags
	c := &cobra.Command{
		Use:   "rate [FOLDER]",
		Short: "measure how often the board reads its inputs and how late it answers",
		Long: `Excites the board by a speed that goes up and down, to find how often it reads its
inputs, then changes the yaw rate 200 times at drawn moments and times each motor's
answers, from the change on its wire to the end of the first frame that answers. The
changes stand so far apart that each answer has ended before the next. Beside the
power-up that takes some 20 s, up to minutes where a board filters or answers are
missing, or the rig was late. Ticks of the bench that are longer than 250 us are shortened to that.
Where a car is given, both are held against its policy's loop_rate and response: ends
with 0 where they are kept, 1 where one is not, and 2 where that is not shown. Else
ends with 0 when both were found and 2 when one was not.`,
		Example: `  hilrig rate
  hilrig rate --car mycar.yaml --bench mybench.yaml --verbose --find`,
		Args: usage.Arguments(0, 1),
		RunE: func(c *cobra.Command, args []string) error { return f.run(c, args) },
	}
	f.add(c)
	f.live.add(c)
	flags := c.Flags()
	flags.BoolVar(&f.verbose, "verbose", false, "show what the uncertainties are made of")
	flags.BoolVar(&f.find, "find", false, "tell what format each motor line seems to carry, whatever the bench declares")
	flags.BoolVar(&f.json, "json", false, "print what was measured as JSON, in s and Hz")
	return c
}

// run measures and prints.
func (f *rateFlags) run(c *cobra.Command, folders []string) error {
	if _, err := f.resolve(c, folders, true); err != nil {
		return fmt.Errorf("rate: %w", err)
	}
	setup, err := f.loadFor(c, nil)
	if err != nil {
		return err
	}
	if err := setup.Ratable(); err != nil {
		return err
	}
	if err := f.live.on(c, setup); err != nil {
		return err
	}
	line := progressOf(c)
	r, err := setup.RateSaying(c.Context(), line.Show)
	line.Wipe()
	if err != nil {
		return err
	}
	if f.car != "" {
		r.Hold()
	}
	s := screenOn(c.OutOrStdout())
	if f.json {
		if err := s.JSON(r.JSON(f.car != "")); err != nil {
			return err
		}
	} else {
		r.Text(s, suites.RateText{Tick: setup.Bench.Wiring.Tick, Held: f.car != "", Found: f.find, Budgets: f.verbose})
	}
	if f.car != "" {
		return endWith(exitOf(r.Outcome()))
	}
	if !r.Decided() {
		return endWith(exitNotShown)
	}
	return nil
}
