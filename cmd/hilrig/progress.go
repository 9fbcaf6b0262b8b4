package main

import (
	"fmt"
	"io"
	"time"

	"hilrig/suites"
	"hilrig/suites/campaign"
)

// refresh is the shortest time between two states of the progress line.
const refresh = 100 * time.Millisecond

// progress rewrites one line as work goes on. On anything but a terminal it
// does nothing.
type progress struct {
	w     io.Writer // nil: not a terminal
	began time.Time
	last  time.Time
}

// progressOn returns the progress line on w.
func progressOn(w io.Writer) *progress {
	if !isTerminal(w) {
		return &progress{}
	}
	return &progress{w: w, began: time.Now()}
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

// campaign puts on the line how far a campaign has come.
func (p *progress) campaign(of campaign.Progress) {
	p.show(func() string { return of.Words(time.Since(p.began).Seconds()) })
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
