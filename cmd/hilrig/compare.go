package main

import (
	"encoding/json"
	"errors"
	"fmt"
	"io/fs"

	"github.com/spf13/cobra"

	"hilrig/suites"
	"hilrig/suites/record"
	"hilrig/suites/report/compare"
)

// compareFlags are the flags of compare.
type compareFlags struct {
	all, json bool
}

// newCompare returns the command that holds two records against each other.
func newCompare() *cobra.Command {
	var f compareFlags
	c := &cobra.Command{
		Use:   "compare BEFORE AFTER",
		Short: "say what of a board changed from one record to another",
		Long: `Holds the record in the folder AFTER against the one in BEFORE, check by check: what
is better, worse, newly failing, passes now, is judged no longer or for the first
time. A difference counts only beyond what both measurements leave open. Where
many checks show one change of the board, it is named once, and what follows
from it is counted under it. Where both runs played the same, the four commands
are compared all along each case too.

Car, bench and suites have to be the same; what is not is said and not compared.
Ends with 1 where something is worse or newly failing, with 2 where something is
judged no longer or cannot be compared, else with 0.`,
		Example: `  hilrig compare ~/.local/state/hilrig/records/2026-11-25-085517 ~/.local/state/hilrig/records/2026-11-26-101203
  hilrig compare --all records/old records/new`,
		Args: cobra.ExactArgs(2),
		RunE: func(c *cobra.Command, args []string) error { return f.run(c, args[0], args[1]) },
	}
	c.Flags().BoolVar(&f.all, "all", false, "list each check that differs, those too that follow from a cause")
	c.Flags().BoolVar(&f.json, "json", false, "print the comparison as JSON and nothing else")
	return c
}

// run compares and prints.
func (f *compareFlags) run(c *cobra.Command, before, after string) error {
	a, errA := comparable(before)
	b, errB := comparable(after)
	if err := errors.Join(errA, errB); err != nil {
		return err
	}
	result, err := compared(a, b)
	if err != nil {
		return err
	}
	f.print(screenOn(c.OutOrStdout()), result)
	return endWith(result.Exit())
}

// print writes a comparison.
func (f *compareFlags) print(out *screen, result *compare.Comparison) {
	if f.json {
		e := json.NewEncoder(out)
		e.SetEscapeHTML(false)
		e.SetIndent("", "  ")
		_ = e.Encode(result) // out remembers what went wrong, as with every print
		return
	}
	result.Text(out, f.all)
}

// comparable reads a record that may be compared; the error says why it may not, and what to do.
func comparable(folder string) (*compare.Run, error) {
	r, err := record.Read(folder)
	if err != nil {
		return nil, err
	}
	if wrong := r.Wrong(); len(wrong) > 0 {
		return nil, fmt.Errorf("record %s is not compared: %s; hilrig report %s shows what there is of it, run again for a whole one", folder, wrong[0], folder)
	}
	if ofStand(r.Result) {
		return nil, fmt.Errorf("record %s is of a speed controller, and those are not compared; hilrig report shows its figures", folder)
	}
	run := &compare.Run{Record: r, Alongs: map[compare.Place]*record.Along{}}
	if run.Inputs, err = record.Inputs(folder); err != nil {
		return nil, err
	}
	err = record.Alongs(folder, func(suite, index int, a *record.Along) { run.Alongs[compare.Place{Suite: suite, Index: index}] = a })
	if err != nil && !errors.Is(err, fs.ErrNotExist) {
		return nil, err
	}
	return run, nil
}

// compared compares two records.
func compared(a, b *compare.Run) (*compare.Comparison, error) {
	setup, err := suites.Load(suites.FilesOf(a.Record.Result, a.Inputs))
	if err != nil {
		// %v, for the places in the error are in the record, not where its files came from.
		return nil, fmt.Errorf("record %s: the files that it keeps in inputs: %v", a.Record.Folder, err)
	}
	return compare.Of(a, b, setup.Known()), nil
}
