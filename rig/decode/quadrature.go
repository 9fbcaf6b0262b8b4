package decode

import (
	"hilrig/rig/signal"
	"hilrig/rig/trace"
)

// Quadrature counts the edges of an incremental encoder: quarter lines, positive
// where A leads B.
//
// Edges of the same time count as one change, since a sampler that saw both lines
// change between two samples cannot tell which came first. A change of both lines,
// and an edge to the level that its line has already, are illegal: the count
// stays and a Corrupt event is appended. Where the sampler did not look for as long
// as the changes before were apart, or left a gap (see signal.Edge), there may have been
// others: an Uncertain event is appended, and the count may be off from then on.
type Quadrature struct {
	a, b    signal.Line
	now     signal.Time
	started bool
	state   uint8 // A<<1 | B before the change of time now
	next    uint8 // after it
	changed bool  // there is a change of time now
	bad     bool  // it has an edge to the same level
	gap     bool  // it has a gap
	late    signal.Time
	last    signal.Time // time of the change before
	apart   signal.Time // and its distance to the one before that; 0 where that is not known
	moved   bool        // there was a change
	count   int64
	illegal int64

	uncertain int64
}

// NewQuadrature returns a decoder for lines a and b, both low, at count 0. With reverse the
// count is positive where B leads A.
func NewQuadrature(a, b signal.Line, reverse bool) *Quadrature {
	if reverse {
		a, b = b, a
	}
	return &Quadrature{a: a, b: b}
}

// Count returns the count of all changes before the time known so far.
func (d *Quadrature) Count() int64 { return d.count }

// Illegal returns how many changes were illegal.
func (d *Quadrature) Illegal() int64 { return d.illegal }

// Uncertain returns how many changes may not have been alone.
func (d *Quadrature) Uncertain() int64 { return d.uncertain }

// Until tells that there are no further edges up to t, t included.
func (d *Quadrature) Until(t signal.Time, out *trace.Output) {
	if d.started && t < d.now {
		return
	}
	d.settle(out)
	d.now, d.started = t, true
}

// Edge takes the next edge; edges of other lines are passed over. One earlier
// than the time known so far is dropped, with an event.
func (d *Quadrature) Edge(e signal.Edge, out *trace.Output) {
	var bit uint8
	switch e.Line {
	case d.a:
		bit = 2
	case d.b:
		bit = 1
	default:
		return
	}
	if d.started && e.At < d.now {
		out.Events = append(out.Events, trace.Event{At: d.now, Kind: trace.Backwards})
		return
	}
	if e.At > d.now || !d.started {
		d.Until(e.At, out)
	}
	d.changed = true
	d.late = max(d.late, signal.Time(e.Uncertainty))
	if d.next&bit != 0 == e.Level {
		d.gap = d.gap || e.Uncertainty > 0
		d.bad = d.bad || e.Uncertainty == 0
	}
	if e.Level {
		d.next |= bit
	} else {
		d.next &^= bit
	}
}

// illegalMove marks a change of both lines in moves.
const illegalMove = 2

// moves is the count's change for the state before, A<<1 | B, and the state after.
var moves = [4][4]int8{
	0b00: {0b00: 0, 0b10: 1, 0b01: -1, 0b11: illegalMove},
	0b10: {0b10: 0, 0b11: 1, 0b00: -1, 0b01: illegalMove},
	0b11: {0b11: 0, 0b01: 1, 0b10: -1, 0b00: illegalMove},
	0b01: {0b01: 0, 0b00: 1, 0b11: -1, 0b10: illegalMove},
}

// settle counts the change of time now, if there is one.
func (d *Quadrature) settle(out *trace.Output) {
	if !d.changed {
		return
	}
	move := moves[d.state][d.next]
	unseen := d.gap || d.apart > 0 && d.late >= d.apart
	d.watch()
	if unseen {
		d.uncertain++
		out.Events = append(out.Events, trace.Event{At: d.now, Kind: trace.Uncertain})
		if move != illegalMove {
			d.count += int64(move)
		}
	} else if move == illegalMove || d.bad {
		d.illegal++
		out.Events = append(out.Events, trace.Event{At: d.now, Kind: trace.Corrupt})
	} else {
		d.count += int64(move)
	}
	d.state, d.changed, d.bad, d.gap, d.late = d.next, false, false, false, 0
}

// watch keeps how far apart changes are.
func (d *Quadrature) watch() {
	if d.state == d.next {
		return
	}
	d.apart = 0
	if d.moved {
		d.apart = d.now - d.last
	}
	d.last, d.moved = d.now, true
}
