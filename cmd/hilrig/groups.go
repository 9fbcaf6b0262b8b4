package main

import (
	"fmt"
	"strconv"
	"strings"

	"hilrig/rig/signal"
	"hilrig/suites/record"
	"hilrig/suites/report"
)

// figure is the one thing worth knowing of a group on its line.
func figure(g *report.Group) string {
	of := " of " + count(len(g.Checks), "check")
	switch g.Counts.Worst() {
	case record.Fail:
		return strconv.Itoa(g.Counts.Fail) + of
	case record.Undecided:
		return strconv.Itoa(g.Counts.Undecided) + of
	case record.Pass:
		if c, left := g.Closest(); c != nil {
			return "least room " + report.WithUnit(signal.Digits(left, 2), c.Unit) + ": " + c.Name
		}
	}
	return ""
}

// printGroups writes a line for each group of each suite, and one for each
// reason why cases were not played.
func printGroups(s *screen, r *record.Result) {
	for i := range r.Suites {
		suite := &r.Suites[i]
		fmt.Fprintf(s, "%s  (%s)\n", suite.Name, suite.File)
		played, left := report.Groups(suite)
		printPlayedGroups(s, played)
		for _, u := range left {
			fmt.Fprintf(s, "  %s: %s\n", count(u.Cases, "case"), u.Reason)
		}
		if text := timingCost(suite.Timing); text != "" {
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
			s.verdict(g.Counts.Worst(), len(record.Undecided)), figure(g)})
	}
	rows.print(s, "  ", 1, 2)
}

// timingCost says in a line what the rig's own timing cost a suite; "" where that is
// nothing.
func timingCost(t *record.Timing) string {
	if t == nil {
		return ""
	}
	var parts []string
	if t.Uncertain > 0 {
		parts = append(parts, fmt.Sprintf("%s left out (sampler's gaps up to %s us)", count(int(t.Uncertain), "motor command"), report.Fixed(float64(t.LongestGapNS)/1e3, 0)))
	}
	if t.LeftOut > 0 {
		parts = append(parts, fmt.Sprintf("%d readings not used by checks", t.LeftOut))
	}
	if t.Late > 0 {
		parts = append(parts, fmt.Sprintf("%s played late, up to %s us", count(int(t.Late), "edge"), report.Fixed(float64(t.LatestNS)/1e3, 0)))
	}
	if t.Again > 0 {
		parts = append(parts, count(t.Again, "case run")+" repeated")
	}
	if len(parts) == 0 {
		return ""
	}
	return "rig's timing: " + strings.Join(parts, ", ")
}
