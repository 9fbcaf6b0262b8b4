package main

import (
	"context"
	"errors"
	"fmt"
	"time"

	"github.com/spf13/cobra"

	"hilrig/rig/signal"
	"hilrig/suites"
	"hilrig/suites/campaign"
	"hilrig/suites/standard"
)

// faultsFlags are the flags of faults.
type faultsFlags struct {
	inputFlags
	list, null, json bool
}

// newFaults returns the command that holds suites against boards that are
// wrong.
func newFaults() *cobra.Command {
	var f faultsFlags
	c := &cobra.Command{
		Use:   "faults [SUITE...]",
		Short: "hold suites against every seeded fault: which check finds which",
		Long: `Plays the suites to the built-in board once for each fault that can be seeded
into it, and shows which check finds it. A suite that cannot find a fault proves
little. What a check finds on the board without a fault does not count.

With --null it plays them to boards that control nothing: each suite has to
fail on each of them. The suite timing may pass, since it asks when a board
answers and not what.

Without a SUITE all standard suites are played. Ends NO-GO (1) where a fault is
not found or a null board passes, NOT SHOWN (2) where that was not decided.`,
		Example: `  hilrig faults
  hilrig faults --null mysuite.yaml`,
		RunE: func(c *cobra.Command, args []string) error { return f.run(c, args) },
	}
	f.addFiles(c)
	f.addSeed(c)
	flags := c.Flags()
	flags.BoolVar(&f.list, "list", false, "list the faults and play nothing")
	flags.BoolVar(&f.null, "null", false, "play to the boards that control nothing")
	flags.BoolVar(&f.json, "json", false, "print what was found as JSON and nothing else")
	return c
}

// run does what the flags say.
func (f *faultsFlags) run(c *cobra.Command, args []string) error {
	out := screenOn(c.OutOrStdout())
	switch {
	case f.list && (f.null || f.json || len(args) > 0):
		return errors.New("faults: --list stands alone; leave out the rest")
	case f.list:
		listFaults(out)
		return nil
	case len(args) == 0:
		args = standard.Names()
	}
	files, err := f.files(args)
	if err != nil {
		return err
	}
	line := progressOn(c.ErrOrStderr())
	began := time.Now()
	shown, err := f.play(c.Context(), files, func(p campaign.Progress) {
		line.show(func() string {
			return fmt.Sprintf("%d of %s  %.0f s driven  %s: %s", p.Done, count(p.Boards, "board"), p.Driving.Seconds(), p.Board, p.Suite)
		})
	})
	line.wipe()
	if err != nil {
		return err
	}
	closing := fmt.Sprintf("driven %.0f s in %.1f s", shown.driving.Seconds(), time.Since(began).Seconds())
	if f.json {
		if err := printJSON(out, shown.result); err != nil {
			return err
		}
		fmt.Fprintln(c.ErrOrStderr(), closing)
	} else {
		shown.print(out)
		fmt.Fprintln(out, closing)
	}
	return endWith(exitOf(shown.outcome))
}

// shownFaults is what a campaign showed.
type shownFaults struct {
	result  any // as it is written as JSON
	outcome string
	driving signal.Time
	print   func(s *screen)
}

// play plays the suites to the boards that the flags name.
func (f *faultsFlags) play(ctx context.Context, files suites.Files, progress func(campaign.Progress)) (shownFaults, error) {
	if f.null {
		a, err := campaign.RunNulls(ctx, files, progress)
		if err != nil {
			return shownFaults{}, err
		}
		return shownFaults{a, a.Outcome, a.Driving, func(s *screen) { printNulls(s, a) }}, nil
	}
	a, err := campaign.RunFaults(ctx, files, progress)
	if err != nil {
		return shownFaults{}, err
	}
	return shownFaults{a, a.Outcome, a.Driving, func(s *screen) { printFaults(s, a) }}, nil
}

// listFaults writes one fault a line, name then sentence.
func listFaults(s *screen) {
	var rows table
	for _, f := range campaign.Seeded() {
		rows = append(rows, []string{f.Name, f.Sentence})
	}
	rows.print(s, "")
}
