package rig

import "hilrig/rig/signal"

// brokenLine is the state of a driven line that a fault can break.
type brokenLine struct {
	encoder bool // only an encoder's lines can break alone
	stays   bool // its level does not follow
	level   bool // on the wire
	truth   bool // as it would be
}

// spoilLine keeps a broken line where it is, and lets it catch up when the fault
// is over.
func (r *Rig) spoilLine(f *fault, at signal.Time) {
	r.broken[f.wire.index].stays = f.active(at)
}

// watchLines begins to keep the levels of the encoders' lines.
func (r *Rig) watchLines() {
	if r.lines {
		return
	}
	r.lines = true
	for i, spec := range r.bench.Layout().Lines {
		var level bool
		for _, e := range r.encoder {
			level = level || e.Level(signal.Line(i))
		}
		r.broken[i] = brokenLine{encoder: spec.Role.WheelSensor(), level: level, truth: level}
	}
}

// unmended says whether a line has still to catch up from the last program.
func (r *Rig) unmended() bool {
	if !r.lines {
		return false
	}
	any := false
	for i := range r.broken {
		r.broken[i].stays = false
		any = any || r.broken[i].level != r.broken[i].truth
	}
	return any
}

// breakLines drops the edges of broken lines and lets whole ones catch up at
// from. What it returns is the rig's own until its next call.
func (r *Rig) breakLines(edges []signal.Edge, from signal.Time) []signal.Edge {
	if !r.lines {
		return edges
	}
	r.mended = r.mended[:0]
	for i := range r.broken {
		// A line whose own edge comes in this very nanosecond would have two.
		if l := &r.broken[i]; !l.stays && l.level != l.truth && !first(edges, signal.Line(i), from) {
			l.level = l.truth
			r.mended = append(r.mended, signal.Edge{At: from, Line: signal.Line(i), Level: l.truth})
		}
	}
	for _, e := range edges {
		l := &r.broken[e.Line]
		l.truth = e.Level
		if l.encoder && (l.stays || l.level == e.Level) {
			continue
		}
		l.level = e.Level
		r.mended = append(r.mended, e)
	}
	return r.mended
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
