package main

import (
	"fmt"

	"hilrig/suites"
)

// progressLine says how far a run has come, and how long it still takes; empty: that
// is not known yet.
func progressLine(p suites.Progress, left string) string {
	line := fmt.Sprintf("%d of %d", p.Done, p.Total)
	if left != "" {
		line += "  " + left
	}
	if p.Case == "" {
		return line
	}
	return fmt.Sprintf("%s  %.0f s driven  %s: %s", line, p.Driving.Seconds(), p.Suite, p.Case)
}
