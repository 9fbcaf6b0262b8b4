package main

import (
	"fmt"
	"strings"

	"hilrig/rig/signal"
	"hilrig/suites/record"
	"hilrig/suites/report"
)

// named is how many failing checks the closing line names.
const named = 6

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
	fmt.Fprintf(s, "%s  %s\n", s.verdict(r.Outcome, 0), summary(r))
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

// summary says in a line what the outcome rests on.
func summary(r *record.Result) string {
	n := r.Counts
	all := n.Pass + n.Fail + n.Undecided
	var parts []string
	add := func(format string, args ...any) { parts = append(parts, fmt.Sprintf(format, args...)) }
	if r.Why != "" {
		add("%s", r.Why)
	}
	if n.Fail > 0 {
		add("%d of %s failed (%s)", n.Fail, count(all, "check"), strings.Join(failing(r), "; "))
	}
	if n.Undecided > 0 {
		add("%d of %s undecided", n.Undecided, count(all, "check"))
	}
	if played := n.Cases - n.NotRun; (len(parts) == 0 || r.Why != "") && (n.Pass > 0 || n.Measured == 0) {
		if r.KeysDeclared > 0 {
			add("%d of %s asked", r.KeysAsked, count(r.KeysDeclared, "policy key"))
		}
		add("%s, %s passed", count(played, "case"), count(n.Pass, "check"))
	} else if len(parts) == 0 {
		add("%s, %s measured, and no limit is set", count(played, "case"), count(n.Measured, "figure"))
	}
	if r.Rests != "" {
		add("rests on %s", r.Rests)
	}
	if len(r.Substituted) > 0 {
		add("substituted: %s", strings.Join(r.Substituted, ", "))
	}
	if n.NotRun > 0 {
		add("%d of %s not played", n.NotRun, count(n.Cases, "case"))
	}
	return strings.Join(parts, ", ")
}

// failing names the checks that failed, each once; beyond a handful how many
// more there are.
func failing(r *record.Result) []string {
	names := report.Names(report.Failures(r), record.Fail)
	if ofStand(r) {
		names = report.FailedFigures(r)
	}
	if len(names) > named {
		names = append(names[:named], fmt.Sprintf("%d more", len(names)-named))
	}
	return names
}
