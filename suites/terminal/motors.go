package terminal

import (
	"fmt"
	"io"
	"math"
	"strings"
	"sync"
	"time"

	"hilrig/plant"
	"hilrig/rig/signal"
	"hilrig/suites/report"
)

// Motors shows on a terminal what the motors are commanded while something is held: a line for each, with its command as
// a number and as a bar, and behind it what it was over the last seconds.
type Motors struct {
	w       io.Writer
	columns int
	paced   bool // virtual time is held back to the pace of the clock
	began   time.Time
	first   signal.Time

	mu      sync.Mutex // of what follows
	started bool
	at      signal.Time
	now     [4]float64
	before  [4][]float64 // one for each redraw, the newest last
	drawn   bool
	stop    chan struct{}
	stopped chan struct{}
}

// MotorsOn returns the lines on w; nil where that is no terminal. Paced is for virtual time, which is held back to the pace of
// the clock so that somebody can watch. End takes the lines away.
func MotorsOn(w io.Writer, paced bool) *Motors {
	if !Is(w) {
		return nil
	}
	columns, _ := size(w)
	m := &Motors{w: w, columns: columns, paced: paced, stop: make(chan struct{}), stopped: make(chan struct{})}
	go m.redraw()
	return m
}

// Show takes what the motors are commanded at a time of the bench. In real time it does not wait for the terminal.
func (m *Motors) Show(at signal.Time, commands [4]float64) {
	if m.paced {
		if m.began.IsZero() {
			m.began, m.first = time.Now(), at
		}
		if early := time.Duration(at-m.first) - time.Since(m.began); early > 2*time.Millisecond {
			time.Sleep(early)
		}
		m.mu.Lock()
	} else if !m.mu.TryLock() {
		return // it is being drawn; the next tick comes soon
	}
	m.started, m.at, m.now = true, at, commands
	m.mu.Unlock()
}

// redraw draws ten times a second until the end.
func (m *Motors) redraw() {
	defer close(m.stopped)
	tick := time.NewTicker(refresh)
	defer tick.Stop()
	for {
		select {
		case <-m.stop:
			return
		case <-tick.C:
			m.mu.Lock()
			text := m.lines()
			m.mu.Unlock()
			_, _ = io.WriteString(m.w, text) // a terminal that is gone shows nothing
		}
	}
}

// End takes the lines away.
func (m *Motors) End() {
	if m == nil {
		return
	}
	close(m.stop)
	<-m.stopped
	if m.drawn {
		fmt.Fprintf(m.w, "\x1b[%dA\x1b[J", len(plant.Wheels)) // up, and clear what is below (ECMA-48)
	}
}

// barWidth is how many letters a bar has from nothing to everything.
const barWidth = 20

// lines returns the lines as they are now, over those that were drawn before; empty where nothing came yet.
func (m *Motors) lines() string {
	if !m.started {
		return ""
	}
	var b strings.Builder
	if m.drawn {
		fmt.Fprintf(&b, "\x1b[%dA", len(plant.Wheels))
	}
	m.drawn = true
	for i, w := range plant.Wheels {
		m.before[i] = append(m.before[i], m.now[i])
		line := fmt.Sprintf("%-11v %6.1f %%  %s  ", w, 100*m.now[i], bar(m.now[i]))
		room := max(0, m.columns-report.Letters(line))
		m.before[i] = m.before[i][max(0, len(m.before[i])-room):]
		line += report.Strip(m.before[i], math.Min(0, least(m.before[i])), 1, room)
		fmt.Fprintf(&b, "\r\x1b[K%s\n", OneLine(line, m.columns))
	}
	return b.String()
}

// least returns the least of some numbers; 0 of none.
func least(all []float64) float64 {
	x := 0.0
	for _, v := range all {
		x = min(x, v)
	}
	return x
}

// bar draws a command's size between nothing and everything.
func bar(command float64) string {
	full := int(math.Round(barWidth * min(1, math.Abs(command))))
	return strings.Repeat("█", full) + strings.Repeat("·", barWidth-full)
}
