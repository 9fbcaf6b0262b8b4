package main

import (
	"fmt"
	"time"

	"github.com/spf13/cobra"

	"hilrig/suites/search"
	"hilrig/suites/standard"
)

// searchFlags are the flags of search.
type searchFlags struct {
	inputFlags
	limit  time.Duration
	drives int
	into   string
}

// newSearch returns the command that plays drawn drives.
func newSearch() *cobra.Command {
	var f searchFlags
	c := &cobra.Command{
		Use:   "search",
		Short: "play drawn drives and shrink what fails to a suite file",
		Long: `Plays drives that nobody wrote: speed, steer, yaw rate, throttle and gain held,
leaping and ramping as the seed draws them, and wires lost and back. Every command
is held to the car's policy, and losses to what it says of them; what it leaves out
is not asked. A check that fails is shrunk to a short drive with round numbers in
which it still fails, tried again at two other seeds, and written as a suite file,
which hilrig run plays.

What is found depends on the seed and not on the machine: --for and --drives only
say when to end. Each check is shrunk once, and after three it ends by itself. It
plays on the simulated bench alone. That nothing is found does not show that nothing is there.

Ends 0 where nothing was found, 1 where something was, 2 where it was stopped or
something failed once and not again, 3 where it cannot start.`,
		Example: `  hilrig search --for 1m --board built-in:left_right
  hilrig search --for 10m --car mycar.yaml --bench mybench.yaml --board-command './firmware {seed}'`,
		Args: cobra.NoArgs,
		RunE: func(c *cobra.Command, _ []string) error { return f.run(c) },
	}
	f.add(c)
	flags := c.Flags()
	flags.DurationVar(&f.limit, "for", 10*time.Minute, "draw no more drives after this `TIME`, as 90s or 10m")
	flags.IntVar(&f.drives, "drives", 0, "draw no more after `N` drives, in whole rounds of eight (default: no such end)")
	flags.StringVar(&f.into, "into", ".", "write the suites of what was found into `FOLDER`")
	return c
}

// run searches and shows what was found.
func (f *searchFlags) run(c *cobra.Command) error {
	setup, err := f.load(c, []string{standard.Life})
	if err != nil {
		return err
	}
	line, began := progressOn(c.ErrOrStderr()), time.Now()
	found, err := search.Run(c.Context(), setup, search.Options{For: f.limit, Drives: f.drives, Into: f.into, Progress: func(p search.Progress) { line.show(p.Words) }})
	line.wipe()
	if err != nil {
		return err
	}
	paths, err := found.Write(f.into)
	typed := search.Typed{Car: f.car, Bench: f.bench, Board: f.board, Command: string(f.command)}
	out := screenOn(c.OutOrStdout())
	fmt.Fprint(out, found.Text(paths, typed))
	fmt.Fprintf(out, "\n%s  %s\ndriven %.0f s in %.1f s\n", out.verdict(found.Outcome(), 0), found.Says(), found.Driving.Seconds(), time.Since(began).Seconds())
	if err != nil {
		return err
	}
	return endWith(exitOf(found.Outcome()))
}
