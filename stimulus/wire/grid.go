package wire

import "hilrig/rig/signal"

// grid is the times at which an encoder begins its pulses or frames: next,
// next+period and so on. With period 0 there is only next.
type grid struct{ next, period signal.Time }

// Period returns the time from one point of the grid to the next.
func (g *grid) Period() signal.Time { return g.period }

// Next returns the next point of the grid.
func (g *grid) Next() signal.Time { return g.next }

// Delay moves the grid later by d from its next point on. d is not negative.
func (g *grid) Delay(d signal.Time) { g.next += d }

// Skip moves the grid on to its first point at from or later: what would have begun
// before is left out, and neither noise nor sequence takes notice.
func (g *grid) Skip(from signal.Time) {
	if g.next < from && g.period > 0 {
		g.next += (from - g.next + g.period - 1) / g.period * g.period
	}
}

// pulses are pulses on one line, each beginning at a point of a grid. The line is low at
// first.
type pulses struct {
	grid
	line [1]signal.Line
	fall signal.Time // of the pulse under way
	high bool        // one is under way
	lost bool
}

// Line returns the line of the pulses.
func (p *pulses) Line() signal.Line { return p.line[0] }

// Lines returns the same in a slice, which is the encoder's own.
func (p *pulses) Lines() []signal.Line { return p.line[:] }

// Level returns whether a pulse is under way on line at the end of the last span.
func (p *pulses) Level(line signal.Line) bool { return line == p.line[0] && p.high }

// SetLost says whether the wire is lost: from the next point of the grid on there are no
// pulses, until the loss ends. A pulse that has begun is finished.
func (p *pulses) SetLost(lost bool) { p.lost = lost }

// play appends the edges in [from, to). width tells how wide the pulse is that rises at a
// time; it may fall in a later span.
func (p *pulses) play(dst []signal.Edge, from, to signal.Time, width func(at signal.Time) signal.Time) []signal.Edge {
	p.fall = max(p.fall, from)
	p.Skip(from)
	for {
		if p.high {
			if p.fall >= to {
				return dst
			}
			dst = append(dst, signal.Edge{At: p.fall, Line: p.line[0]})
			p.high = false
			p.Skip(p.fall + 1) // after a gap a pulse may have been due under this one
		}
		if p.next >= to {
			return dst
		}
		if !p.lost {
			dst = append(dst, signal.Edge{At: p.next, Line: p.line[0], Level: true})
			p.high, p.fall = true, p.next+width(p.next)
		}
		p.next += p.period
	}
}
