package main

import (
	"fmt"
	"io"
	"time"

	"hilrig/suites"
)

// refresh is the shortest time between two states of the progress line.
const refresh = 100 * time.Millisecond

// progressOn returns what rewrites one line on w as a run goes on, and what
// wipes that line. On anything but a terminal both do nothing.
func progressOn(w io.Writer) (show func(suites.Progress), wipe func()) {
	if !isTerminal(w) {
		return nil, func() {}
	}
	var last time.Time
	show = func(p suites.Progress) {
		if now := time.Now(); now.Sub(last) >= refresh {
			last = now
			fmt.Fprint(w, "\r\x1b[K", progressLine(p, columns(w)))
		}
	}
	return show, func() { fmt.Fprint(w, "\r\x1b[K") }
}

// progressLine writes how far a run has come in at most width letters, so that
// it stays one line.
func progressLine(p suites.Progress, width int) string {
	text := []rune(fmt.Sprintf("%d of %d  %.0f s driven  %s: %s", p.Done, p.Total, p.Driving.Seconds(), p.Suite, p.Case))
	return string(text[:min(len(text), width)])
}
