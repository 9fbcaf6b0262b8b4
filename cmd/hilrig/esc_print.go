package main

import (
	"fmt"
	"strings"

	"hilrig/rig/signal"
	"hilrig/suites/record"
	"hilrig/suites/report"
)

// ofStand says whether a result is that of a speed controller on a stand: no car was played.
func ofStand(r *record.Result) bool { return report.OfStand(r) }

// printStandHeading writes which controller is measured on which stand.
func printStandHeading(s *screen, r *record.Result) {
	row := func(key, text string) { fmt.Fprintf(s, "%-10s  %s\n", key, text) }
	row("stand", inputOf(r, r.Bench))
	row("controller", inputOf(r, r.Board))
	if r.Label != "" {
		row("label", r.Label)
	}
	row("seed", fmt.Sprint(r.Seed))
	fmt.Fprintln(s)
}

// printUnmet writes a line for each figure that failed or is undecided.
func printUnmet(s *screen, r *record.Result) {
	all := report.UnmetFigures(r)
	for _, u := range all {
		fmt.Fprintf(s, "%s  %s, held: %s\n", s.Verdict(u.Verdict, 0), u.Name, u.Where())
		fmt.Fprintf(s, "  %s\n", u.Says())
	}
	if len(all) > 0 {
		fmt.Fprintln(s)
	}
}

// printFigures writes the figures of each held condition, and what was odd on the way.
func printFigures(s *screen, r *record.Result) {
	for _, h := range report.HeldConditions(r) {
		printHeld(s, h)
	}
	printEvents(s, r.Events)
}

// printHeld writes the figures under one held condition.
func printHeld(s *screen, h *report.Held) {
	fmt.Fprintf(s, "held: %s\n", h.Title())
	if h.Verdict == record.NotRun || h.Verdict == record.Skipped {
		fmt.Fprintf(s, "  %s, %s\n\n", h.Verdict, h.Why)
		return
	}
	var rows table
	for _, k := range h.Shown {
		rows = append(rows, []string{report.FigureName(k.Name), report.Measured(k), report.Limit(k), s.Verdict(k.Verdict, 0), k.Why})
	}
	rows.Print(s, "  ")
	if h.Same {
		fmt.Fprintln(s, "  all others as above")
	}
	for _, note := range h.Notes {
		fmt.Fprintf(s, "  %s\n", note)
	}
	for _, l := range h.Unmeasured {
		fmt.Fprintf(s, "  not measured: %s; %s\n", strings.Join(l.Names, ", "), l.Why)
	}
	fmt.Fprintln(s)
}

// printEvents writes what was odd on the way.
func printEvents(s *screen, all []record.Event) {
	for _, e := range all {
		times := ""
		if e.Count > 1 {
			times = fmt.Sprintf(", %d times", e.Count)
		}
		fmt.Fprintf(s, "event  at %s s, %s: %s%s\n", signal.Digits(signal.Time(e.AtNS).Seconds(), 4), strings.ReplaceAll(e.Place, "_", " "), e.Text, times)
	}
	if len(all) > 0 {
		fmt.Fprintln(s)
	}
}
