package main

import (
	"fmt"
	"strings"

	"hilrig/suites/record"
	"hilrig/suites/report"
	"hilrig/suites/report/faults"
)

// printFailures writes everything that failed or is undecided, with where to
// look. verbose adds what each interval is made of.
func printFailures(s *screen, r *record.Result, verbose bool) {
	for _, f := range report.Failures(r) {
		head := f.Check
		if l := f.CommonLimit(); l != "" {
			head += " (" + l + ")"
		}
		fmt.Fprintf(s, "%s  %s\n", s.Verdict(f.Verdict, 0), head)
		fmt.Fprintf(s, "  %s, %s:%d\n", f.Case, f.File, f.Line)
		for _, text := range lines(f.Excerpt) {
			fmt.Fprintf(s, "  %s\n", text)
		}
		printRows(s, f)
		if verbose {
			for _, text := range f.Budgets() {
				fmt.Fprintf(s, "    %s\n", text)
			}
		}
		for _, text := range append(f.Says(), faults.Known().Says(f)...) {
			fmt.Fprintf(s, "  %s\n", text)
		}
		fmt.Fprintln(s)
	}
}

// printRows writes one line for each variant, aligned: which, what was
// measured, the limit where they differ, and where to look.
func printRows(s *screen, f *report.Failure) {
	var rows table
	for _, w := range f.Rows {
		apart := ""
		if f.CommonLimit() == "" {
			apart = report.Limit(w.Check)
		}
		rows = append(rows, []string{w.Variant, w.Check.Quantity, report.Measured(w.Check), apart, report.Where(w.Check)})
	}
	rows.Print(s, "    ")
}

// lines splits text; of an empty one there are none.
func lines(text string) []string {
	text = strings.TrimRight(text, "\n")
	if text == "" {
		return nil
	}
	return strings.Split(text, "\n")
}
