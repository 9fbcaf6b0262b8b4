package main

import (
	"bytes"
	"fmt"
	"strings"

	"hilrig/rig/signal"
	"hilrig/suites/record"
	"hilrig/suites/report"
	"hilrig/suites/report/faults"
)

// ending is what the closing lines tell beside the result.
type ending struct {
	driving signal.Time // played, virtual on a simulated bench
	wall    float64     // s
	folder  string      // of the record; empty: none was kept
	whole   bool        // the record has everything that it was to have
	wires   int         // of how many cases the record keeps the wires
}

// printResult writes what was found, up to the outcome, first what a NO-GO looks like. What takes more than two screens
// is told in short, where not all is asked for.
func printResult(s *screen, r *record.Result, verbose, all bool) {
	printLines(s, faults.Known().Looks(r).Lines())
	var whole bytes.Buffer
	w := &screen{&whole, s.colour}
	printGroups(w, r)
	printFailures(w, r, verbose)
	if all || verbose || !report.Long(r, whole.String()) {
		_, _ = s.Write(whole.Bytes()) // s remembers what went wrong, as with every print
	} else {
		printBrief(s, r)
	}
	printLines(s, report.NotAsked(r.NotAsked))
}

// printBrief writes what failed or stayed open in short.
func printBrief(s *screen, r *record.Result) {
	for _, b := range report.Brief(r) {
		fmt.Fprintf(s, "%s  %s\n", s.verdict(b.Verdict, 0), b.Head)
		printLines(s, b.Lines)
	}
	printLines(s, []string{"told in short; --all tells each check that failed or stayed open, here and in hilrig report"})
}

// printLines writes lines and a blank one, or nothing where there are none.
func printLines(s *screen, all []string) {
	if len(all) > 0 {
		fmt.Fprintln(s, strings.Join(all, "\n")+"\n")
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
