//go:build linux

package cdev

import (
	"slices"

	"golang.org/x/sys/unix"
)

// Event is one edge as the kernel saw it.
type Event struct {
	At     int64 // ns; see the package comment
	Line   int   // which of the request, from 0; -1 for one that was not requested, which no kernel sends
	Rising bool
	// Number counts the edges of the request from 1, and wraps: a gap is of edges that were lost,
	// of any line. In a request of several lines numbers of different lines overtake each other.
	Number uint32

	// Repeated: the line had this level before, so that an edge between was
	// missed, or the direction was read after the next edge had come. At is that of
	// an edge, Rising may be wrong.
	Repeated bool
}

// order follows the events of one request.
type order struct {
	lines  []uint32
	start  uint64 // levels before the first edge
	readBy int64  // when they had been read
	level  uint64
	seen   uint64 // lines of which an event came
}

func (o *order) begin(lines []uint32, levels uint64, readBy int64) {
	*o = order{lines: slices.Clone(lines), start: levels, level: levels, readBy: readBy}
}

// event turns the kernel's record of an edge into an Event, in the order of
// reading.
func (o *order) event(raw *unix.GPIOV2LineEvent) Event {
	e := Event{
		At:     int64(raw.Timestamp_ns),
		Line:   slices.Index(o.lines, raw.Offset),
		Rising: raw.Id == unix.GPIO_V2_LINE_EVENT_RISING_EDGE,
		Number: raw.Seqno,
	}
	if e.Line >= 0 {
		o.follow(&e)
	}
	return e
}

// follow keeps the level of the event's line.
func (o *order) follow(e *Event) {
	b := bit(e.Line)
	first := o.seen&b == 0
	o.seen |= b
	was := o.level&b != 0
	switch {
	case was != e.Rising:
		o.level ^= b
	case first && e.At <= o.readBy: // the start was read after this edge
		o.start ^= b
	default:
		e.Repeated = true
	}
}
