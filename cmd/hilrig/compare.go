package main

import (
	"errors"
	"fmt"
	"io"

	"github.com/spf13/cobra"

	"hilrig/cmd/hilrig/usage"
	"hilrig/suites"
	"hilrig/suites/record"
	"hilrig/suites/report/compare"
	"hilrig/suites/report/page"
)

// compareFlags are the flags of compare.
type compareFlags struct {
	all, json bool
	html      string
}

// newCompare returns the command that holds two records against each other.
func newCompare() *cobra.Command {
	var f compareFlags
	c := &cobra.Command{
		Use:   "compare BEFORE AFTER",
		Short: "say what of a board changed from one record to another",
		Long: `Holds the record AFTER against BEFORE, each named by its folder, by the folder's name
alone where hilrig keeps it, or by its label, check by check: what is better, worse,
newly failing, passes now, is judged no longer or for the first time. A difference
counts only beyond what both measurements leave open. Where many checks show one
change of the board, it is named once, and what follows from it is counted under it.
Where both runs played the same, the four commands are compared all along each case too.

Car, bench and suites have to be the same; what is not is said and not compared.
Ends with 1 where something is worse or newly failing, with 2 where something is
judged no longer or cannot be compared, else with 0.`,
		Example: `  hilrig compare ~/.local/state/hilrig/records/2026-11-25-085517 ~/.local/state/hilrig/records/2026-11-26-101203
  hilrig compare --html changes.html records/old records/new`,
		Args: usage.Arguments(2, 2),
		RunE: func(c *cobra.Command, args []string) error { return f.run(c, args[0], args[1]) },
	}
	c.Flags().BoolVar(&f.all, "all", false, "list each check that differs, those too that follow from a cause")
	c.Flags().StringVar(&f.html, "html", "", "write one page with both runs' commands laid over each other to `FILE`; - is standard output")
	c.Flags().BoolVar(&f.json, "json", false, "print the comparison as JSON and nothing else")
	return c
}

// run compares and prints.
func (f *compareFlags) run(c *cobra.Command, before, after string) error {
	if f.json && f.html == "-" {
		return errors.New("--json and --html - would both be written to standard output, one after the other; name a file for the page")
	}
	home, err := record.Home()
	if err != nil {
		return err
	}
	a, b, err := compare.Both(before, after, home)
	if err != nil {
		return err
	}
	result, err := compared(a, b)
	if err != nil {
		return err
	}
	if f.html != "" {
		if err := writeTo(f.html, c.OutOrStdout(), func(w io.Writer) error { return page.OfComparison(result, a, b).Write(w) }); err != nil {
			return err
		}
	}
	if f.html != "-" {
		f.print(screenOn(c.OutOrStdout()), result)
	}
	return endWith(result.Exit())
}

// print writes a comparison.
func (f *compareFlags) print(out *screen, result *compare.Comparison) {
	if f.json {
		_ = result.JSON(out) // out remembers what went wrong, as with every print
		return
	}
	result.Text(out, f.all)
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
