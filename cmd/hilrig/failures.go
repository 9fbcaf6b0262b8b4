package main

import (
	"cmp"
	"fmt"
	"strings"

	"hilrig/rig/signal"
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
		fmt.Fprintf(s, "%s  %s\n", s.verdict(f.Verdict, 0), head)
		fmt.Fprintf(s, "  %s, %s:%d\n", f.Case, f.File, f.Line)
		for _, text := range lines(f.Excerpt) {
			fmt.Fprintf(s, "  %s\n", text)
		}
		printRows(s, f)
		if verbose {
			printUncertainty(s, f)
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
	rows.print(s, "    ")
}

// printUncertainty writes what the intervals are made of: standard uncertainties, how
// they combine, and the factor from there to the interval's half-width (JCGM 100).
func printUncertainty(s *screen, f *report.Failure) {
	for _, w := range f.Rows {
		c := w.Check
		combined, half, coverage, ok := report.Budget(c)
		if !ok {
			continue
		}
		fmt.Fprintf(s, "    %s: u = %s (statistics %s, resolution and sampler %s), U = %s, k = %.3g\n",
			cmp.Or(w.Variant, c.Quantity), signal.Digits(combined, 3), signal.Digits(*c.Statistics, 3), signal.Digits(*c.Instrument, 3), signal.Digits(half, 3), coverage)
	}
}

// lines splits text; of an empty one there are none.
func lines(text string) []string {
	text = strings.TrimRight(text, "\n")
	if text == "" {
		return nil
	}
	return strings.Split(text, "\n")
}
