package main

import (
	"fmt"
	"strings"

	"github.com/spf13/cobra"

	"hilrig/suites"
	"hilrig/suites/record"
	"hilrig/suites/report/compare"
)

// against is the record that a run is compared with once it is over; nil: none.
type against struct {
	before *compare.Run
	known  *compare.Known
}

// againstNamed finds the record that --against names, before the run begins: a folder, a label of one
// in home, or the last; nil where nothing is named. It is an error where it could not be compared with the
// run in anything.
func againstNamed(name, home string, setup *suites.Setup, plan *record.Result) (*against, error) {
	if name == "" {
		return nil, nil
	}
	planned := &compare.Run{Record: &record.Record{Result: plan}, Inputs: setup.Inputs()}
	home, err := homeOf(home)
	if err != nil {
		return nil, err
	}
	before, err := compare.Named(name, home, planned)
	if err != nil {
		return nil, fmt.Errorf("--against %s: %w", name, err)
	}
	if changed := compare.Changed(before, planned); len(changed) > 0 {
		return nil, fmt.Errorf("--against %s: %s; name a record of the same car, bench and suites, or leave --against out", name, strings.Join(changed, "; "))
	}
	return &against{before, setup.Known()}, nil
}

// print compares the run that is over, and returns the exit code of what came of it.
func (g *against) print(c *cobra.Command, r *record.Result, e ending, inputs []record.Input, json bool) int {
	out := screenOn(c.OutOrStdout())
	if json {
		out = screenOn(c.ErrOrStderr())
	}
	if r.Why != "" {
		fmt.Fprintf(out, "not compared with %s: the run did not end\n", g.before.Record.Folder)
		return exitNotShown
	}
	after := &compare.Run{Record: &record.Record{Result: r, Folder: e.folder, Ended: true}, Inputs: inputs}
	if e.whole && e.folder != "" {
		kept, err := compare.Read(e.folder)
		if err != nil {
			fmt.Fprintln(c.ErrOrStderr(), "hilrig:", err)
			return exitWrong
		}
		after = kept
	}
	result := compare.Of(g.before, after, g.known)
	fmt.Fprintf(out, "\ncompared with %s\n", g.before.Record.Folder)
	result.Text(out, false)
	fmt.Fprint(out, result.AsPage())
	return result.Exit()
}
