package main

import (
	"fmt"
	"strings"

	"hilrig/rig/signal"
	"hilrig/suites/record"
	"hilrig/suites/report"
)

// ending is what the closing lines tell beside the result.
type ending struct {
	driving signal.Time // played, virtual on a simulated bench
	wall    float64     // s
	folder  string      // of the record; empty: none was kept
	whole   bool        // the record has everything that it was to have
	wires   int         // of how many cases the record keeps the wires
}

// printResult writes what was found, up to the outcome.
func printResult(s *screen, r *record.Result, verbose bool) {
	printGroups(s, r)
	printFailures(s, r, verbose)
	printNotAsked(s, r.NotAsked)
}

// printNotAsked writes what the policy leaves out, a line for each reason.
func printNotAsked(s *screen, notes []record.Note) {
	var reasons []string
	keys := map[string][]string{}
	for _, n := range notes {
		if keys[n.Text] == nil {
			reasons = append(reasons, n.Text)
		}
		keys[n.Text] = append(keys[n.Text], n.Key)
	}
	for _, why := range reasons {
		fmt.Fprintf(s, "not asked  %s: %s\n", why, strings.Join(keys[why], ", "))
	}
	if len(notes) > 0 {
		fmt.Fprintln(s)
	}
}

// printClosing writes the outcome, and how it was come by.
func printClosing(s *screen, r *record.Result, e ending) {
	fmt.Fprintf(s, "%s  %s\n", s.verdict(r.Outcome, 0), report.Summary(r))
	kept := "not kept"
	switch {
	case e.folder != "" && e.whole:
		kept = "kept in " + e.folder
	case e.folder != "":
		kept = "not kept whole; what there is of it is in " + e.folder
	}
	fmt.Fprintf(s, "driven %.1f s in %.1f s, digest %.12s, %s\n", e.driving.Seconds(), e.wall, r.Digest, kept)
	if e.wires > 0 {
		fmt.Fprintf(s, "the wires of %s are kept around what is no pass; hilrig report --vcd FILE writes them, --only PATTERN names the case\n", count(e.wires, "case"))
	}
}
