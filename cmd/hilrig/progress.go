package main

import (
	"fmt"
	"io"
	"time"

	"hilrig/suites"
)

// refresh is the shortest time between two states of the progress line.
const refresh = 100 * time.Millisecond

// progress rewrites one line as work goes on. On anything but a terminal it
// does nothing.
type progress struct {
	w    io.Writer // nil: not a terminal
	last time.Time
}

// progressOn returns the progress line on w.
func progressOn(w io.Writer) *progress {
	if !isTerminal(w) {
		return &progress{}
	}
	return &progress{w: w}
}

// show puts text on the line, unless it was rewritten a moment ago. Calls must
// not overlap.
func (p *progress) show(text func() string) {
	if p.w == nil {
		return
	}
	if now := time.Now(); now.Sub(p.last) >= refresh {
		p.last = now
		fmt.Fprint(p.w, "\r\x1b[K", oneLine(text(), columns(p.w)))
	}
}

// wipe clears the line.
func (p *progress) wipe() {
	if p.w != nil {
		fmt.Fprint(p.w, "\r\x1b[K")
	}
}

// oneLine cuts text to width letters, so that it stays one line.
func oneLine(text string, width int) string {
	letters := []rune(text)
	return string(letters[:min(len(letters), width)])
}

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

// aboutLeft writes a time that is left as coarsely as it is known. A line that is
// rewritten with each case does not flicker so.
func aboutLeft(d time.Duration) string {
	switch s := d.Seconds(); {
	case s >= 5400:
		return fmt.Sprintf("about %.1f h left", s/3600)
	case s >= 90:
		return fmt.Sprintf("about %.0f min left", s/60)
	case s >= 10:
		return fmt.Sprintf("about %.0f s left", d.Round(10*time.Second).Seconds())
	case s > 0:
		return "a few seconds left"
	}
	return ""
}
