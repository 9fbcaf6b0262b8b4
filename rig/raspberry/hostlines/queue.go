package hostlines

import (
	"fmt"

	"hilrig/rig/raspberry/realtime"
	"hilrig/rig/signal"
)

// Change is one edge that is to be put out.
type Change struct {
	At    signal.Time
	Mask  uint64 // of its line, by the backend's counting
	Apart uint32 // ns that it has to come after the last change of its group
	Line  signal.Line
	Group uint8 // the lines of one encoder have one
	Level bool
}

// Queue holds changes in order of time.
type Queue = realtime.Ring[Change]

// Drop forgets what was still to be put out. Nobody may be putting out anything.
func Drop(queues []*Queue) {
	for _, q := range queues {
		q.Full = q.Tail.Load()
		q.Head.Store(q.Full)
	}
}

// Of changes that a stall has made late, those of one group follow each other no
// closer than half as far as planned, so that a board's input filter still sees
// every one; and where they were planned far apart, no closer than mostApart.
const mostApart = 5 * signal.Microsecond

// apart returns how far a change has to stay from one planned at before.
func apart(before, at signal.Time) uint32 {
	return uint32(min((at-before)/2, mostApart))
}

// plan holds edges, which follow on from, against the level that each line will have
// by then, and brings those levels up to date. On an error they stay as they were.
func plan(planned []bool, edges []signal.Edge, from, until signal.Time, drives func(l signal.Line) bool) error {
	last := from
	for i, e := range edges {
		if int(e.Line) >= len(planned) || e.At < last || e.At > until || planned[e.Line] == e.Level || !drives(e.Line) {
			for _, back := range edges[:i] {
				planned[back.Line] = !planned[back.Line]
			}
			return fmt.Errorf("driven edge at %v on line %d to %t is of the past, of no driven line, out of order or later than %v, or repeats the line's level; edges were handed over until %v", e.At, e.Line, e.Level, until, from)
		}
		planned[e.Line] = e.Level
		last = e.At
	}
	return nil
}
