package main

import (
	"bytes"
	"fmt"

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

// closingLines is how many lines the outcome takes at most; beside it a run has two screens.
const closingLines = 6

// printResult writes what was found, up to the outcome, first what a NO-GO looks like. What takes more than two screens
// with the heading is told in short, where not all is asked for.
func printResult(s *screen, r *record.Result, verbose, all bool) {
	room := s.TwoScreens() - closingLines - s.Takes(func(w *screen) {
		printHeading(w, r)
		w.Paragraph(faults.Known().Looks(r).Lines())
		w.Paragraph(report.NotAsked(r.NotAsked))
	})
	s.Paragraph(faults.Known().Looks(r).Lines())
	var whole bytes.Buffer
	w := s.Aside(&whole)
	printGroups(w, r)
	printFailures(w, r, verbose)
	if all || verbose || !report.Long(r, whole.String(), room) {
		_, _ = s.Writer.Write(whole.Bytes()) // s remembers what went wrong, as with every print
	} else {
		printBrief(s, r, room)
	}
	s.Paragraph(report.NotAsked(r.NotAsked))
}

// printBrief writes what failed or stayed open in short, in at most so many lines.
func printBrief(s *screen, r *record.Result, room int) {
	brief := func(room int) func(w *screen) {
		return func(w *screen) {
			for _, b := range report.Brief(r, room) {
				fmt.Fprintf(w, "%s  %s\n", w.Verdict(b.Verdict, 0), b.Head)
				w.Paragraph(b.Lines)
			}
			w.Paragraph([]string{"told in short; --all tells each check that failed or stayed open, here and in hilrig report"})
		}
	}
	fits := room // fewer where lines of a narrow screen go on in further ones
	for fits > 0 && s.Takes(brief(fits)) > room {
		fits--
	}
	brief(fits)(s)
}

// printClosing writes the outcome, and how it was come by.
func printClosing(s *screen, r *record.Result, e ending) {
	fmt.Fprintf(s, "%s  %s\n", s.Verdict(r.Outcome, 0), report.Summary(r))
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
