package main

import (
	"fmt"

	"hilrig/suites/record"
	"hilrig/suites/report"
)

// printGroups writes a line for each group of each suite, and one for each
// reason why cases were not played.
func printGroups(s *screen, r *record.Result) {
	for i := range r.Suites {
		suite := &r.Suites[i]
		fmt.Fprintf(s, "%s  (%s)\n", suite.Name, r.Path(suite.File))
		played, left := report.Groups(suite)
		printPlayedGroups(s, played)
		for _, u := range left {
			fmt.Fprintf(s, "  %s: %s\n", count(u.Cases, "case"), u.Reason)
		}
		if text := report.TimingCost(suite.Timing); text != "" {
			fmt.Fprintln(s, "  "+text)
		}
		fmt.Fprintln(s)
	}
}

// printPlayedGroups writes a line for each group, aligned.
func printPlayedGroups(s *screen, all []*report.Group) {
	var rows table
	for _, g := range all {
		rows = append(rows, []string{g.Name, count(g.Counts.Cases, "variant"), count(len(g.Checks), "check"),
			s.Verdict(g.Counts.Worst(), len(record.Undecided)), g.Figure()})
	}
	rows.Print(s, "  ", 1, 2)
}
