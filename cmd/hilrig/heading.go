package main

import (
	"fmt"
	"strings"

	"hilrig/suites/record"
	"hilrig/suites/terminal"
)

// printHeading writes what is about to be run.
func printHeading(s *screen, r *record.Result) {
	row := func(key, text string) { fmt.Fprintf(s, "%-8s %s\n", key, text) }
	row("car", inputOf(r, r.Car))
	if len(r.Guessed) > 0 {
		keys := make([]string, len(r.Guessed))
		for i, g := range r.Guessed {
			keys[i] = g.Key
		}
		row("guessed", strings.Join(keys, ", "))
	}
	row("bench", inputOf(r, r.Bench))
	row("board", inputOf(r, r.Board))
	if len(r.Substituted) > 0 {
		row("instead", "substituted: "+strings.Join(r.Substituted, ", ")+", not from the car's own source")
	}
	if r.Label != "" || r.Firmware != "" {
		row("firmware", strings.TrimSpace(fmt.Sprintf("%s %.12s", terminal.Visible(r.Label), r.Firmware)))
	}
	row("seed", fmt.Sprint(r.Seed))
	fmt.Fprintln(s)
}

// inputOf writes the name of an input of r with the file that it came from.
func inputOf(r *record.Result, s record.Source) string {
	if s.File == "" {
		return s.Name
	}
	return s.Name + "  (" + r.Path(s.File) + ")"
}
