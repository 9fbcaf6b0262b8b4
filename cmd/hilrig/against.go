package main

import (
	"fmt"
	"os"
	"path/filepath"
	"strings"

	"github.com/spf13/cobra"

	"hilrig/suites"
	"hilrig/suites/record"
	"hilrig/suites/report/compare"
)

// lastRecord is the word for --against that takes the newest GO of the same car, bench and suites.
const lastRecord = "last"

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
	before, err := namedRun(name, home, planned)
	if err != nil {
		return nil, fmt.Errorf("--against %s: %w", name, err)
	}
	if changed := compare.Changed(before, planned); len(changed) > 0 {
		return nil, fmt.Errorf("--against %s: %s; name a record of the same car, bench and suites, or leave --against out", name, strings.Join(changed, "; "))
	}
	return &against{before, setup.Known()}, nil
}

// namedRun reads the record of that name.
func namedRun(name, home string, planned *compare.Run) (*compare.Run, error) {
	if info, err := os.Stat(name); err == nil && info.IsDir() {
		return comparable(name)
	}
	if strings.ContainsRune(name, filepath.Separator) {
		return nil, fmt.Errorf("there is no such folder; name that of a record, a label, or %s", lastRecord)
	}
	if home == "" || home == noRecord {
		var err error
		if home, err = record.Home(); err != nil {
			return nil, err
		}
	}
	entries, err := record.Entries(home)
	if err != nil {
		return nil, err
	}
	if name != lastRecord {
		e, ok := record.Newest(entries, func(e *record.Entry) bool { return e.Label == name })
		if !ok {
			return nil, fmt.Errorf("no record in %s has that label, and there is no such folder; hilrig records lists what there is", home)
		}
		return comparable(e.Folder)
	}
	var found *compare.Run
	_, ok := record.Newest(entries, func(e *record.Entry) bool {
		if e.Outcome != record.Go || e.Wrong != "" || e.Car != planned.Record.Result.Car.Name {
			return false
		}
		found, err = comparable(e.Folder)
		return err == nil && compare.SamePlan(found, planned)
	})
	if !ok {
		return nil, fmt.Errorf("no record in %s is GO with the same car, bench and suites; a run without --against that ends GO makes one", home)
	}
	return found, nil
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
		kept, err := comparable(e.folder)
		if err != nil {
			fmt.Fprintln(c.ErrOrStderr(), "hilrig:", err)
			return exitWrong
		}
		after = kept
	}
	result := compare.Of(g.before, after, g.known)
	fmt.Fprintf(out, "\ncompared with %s\n", g.before.Record.Folder)
	result.Text(out, false)
	return result.Exit()
}
