package main

import (
	"github.com/spf13/cobra"
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
		Use:   "rate",
		Short: "measure how often the board reads its inputs and how late it answers",
		Long: `Lets the speed swing to find how often the board reads its inputs, then changes
the yaw rate 200 times at drawn moments and times the answers, from the change
on its wire to the end of the first motor frame that answers. Nothing is held
against the policy. Beside the power-up that takes some 10 s, up to a minute where
answers are missing or the rig was late. Ticks of the bench that are longer than
250 us are shortened to that. Ends with 0 when both were found and 2 when one was not.`,
		Example: `  hilrig rate
  hilrig rate --bench mybench.yaml --verbose --find`,
		Args: cobra.NoArgs,
		RunE: func(c *cobra.Command, _ []string) error { return f.run(c) },
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
func (f *rateFlags) run(c *cobra.Command) error {
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
	r, err := setup.Rate(c.Context())
	if err != nil {
		return err
	}
	s := screenOn(c.OutOrStdout())
	if f.json {
		if err := printJSON(s, r.JSON()); err != nil {
			return err
		}
	} else {
		f.print(s, r, setup.Bench.Wiring.Tick)
	}
	if !r.Decided() {
		return endWith(exitNotShown)
	}
	return nil
}
