package rig

import "hilrig/rig/signal"

// brokenLine is the state of a driven line that a fault can break.
type brokenLine struct {
	encoder bool // only an encoder's lines can break alone
	stays   bool // its level does not follow
	level   bool // on the wire
	truth   bool // as it would be
}

// brokenLines are the driven lines of the bench.
type brokenLines struct {
	line     []brokenLine  // by line
	watching bool          // the program in play breaks some of them, or one has still to catch up
	edges    []signal.Edge // as they go out
}

// breakLine keeps a broken line where it is, and lets it catch up when the fault
// is over.
func (inj *injection) breakLine(f *fault, at signal.Time) {
	inj.lines.line[f.wire.index].stays = f.active(at)
}

// watchLines begins to keep the levels of the encoders' lines.
func (inj *injection) watchLines() {
	if inj.lines.watching {
		return
	}
	inj.lines.watching = true
	for i, spec := range inj.layout.Lines {
		var level bool
		for _, e := range inj.encoder {
			level = level || e.Level(signal.Line(i))
		}
		inj.lines.line[i] = brokenLine{encoder: spec.Role.WheelSensor(), level: level, truth: level}
	}
}

// unmended says whether a line has still to catch up from the last program.
func (b *brokenLines) unmended() bool {
	if !b.watching {
		return false
	}
	any := false
	for i := range b.line {
		b.line[i].stays = false
		any = any || b.line[i].level != b.line[i].truth
	}
	return any
}

// pass drops the edges of broken lines and lets whole ones catch up at
// from. What it returns is b's own until its next call.
func (b *brokenLines) pass(edges []signal.Edge, from signal.Time) []signal.Edge {
	if !b.watching {
		return edges
	}
	b.edges = b.edges[:0]
	for i := range b.line {
		// A line whose own edge comes in this very nanosecond would have two.
		if l := &b.line[i]; !l.stays && l.level != l.truth && !first(edges, signal.Line(i), from) {
			l.level = l.truth
			b.edges = append(b.edges, signal.Edge{At: from, Line: signal.Line(i), Level: l.truth})
		}
	}
	for _, e := range edges {
		l := &b.line[e.Line]
		l.truth = e.Level
		if l.encoder && (l.stays || l.level == e.Level) {
			continue
		}
		l.level = e.Level
		b.edges = append(b.edges, e)
	}
	return b.edges
}

// first says whether edges begin with one of line at time at.
func first(edges []signal.Edge, line signal.Line, at signal.Time) bool {
	for _, e := range edges {
		if e.At != at {
			return false
		}
		if e.Line == line {
			return true
		}
	}
	return false
}
