package suites

import (
	"cmp"
	"slices"

	"hilrig/rig/signal"
	"hilrig/rig/trace"
	"hilrig/suites/record"
	"hilrig/suites/report"
)

const (
	// mostRecorded is how many edges of a bench in real time are recorded at most, 16 MiB of them.
	// At 4 m/s the demo's wheels send them in 20 s.
	mostRecorded = 1 << 20
	// around is how much of the wires is recorded before and after a moment.
	around = 500 * signal.Millisecond
	// recordedLine is the line, in what is recorded, that is high where edges were recorded.
	recordedLine = "kept"
)

// edgeRecorder holds what was on the wires of a bench in real time lately. When it is full the
// oldest edges are given up for new ones. Of nil nothing is recorded.
type edgeRecorder struct {
	layout signal.Layout
	ring   []signal.Edge
	next   int    // where in ring the next goes
	full   bool   // every place of ring is taken
	before []bool // levels of the lines before the oldest edge
	newest []bool // levels after the newest
	from   signal.Time
	held   bool        // nothing is taken, as somebody reads
	until  signal.Time // while held: nothing of what came later was taken
}

// newEdgeRecorder makes room for size edges of lines at rest.
func newEdgeRecorder(layout signal.Layout, size int) *edgeRecorder {
	k := &edgeRecorder{layout: layout, ring: make([]signal.Edge, size)}
	for _, l := range layout.Lines {
		k.before, k.newest = append(k.before, l.Idle), append(k.newest, l.Idle)
	}
	return k
}

// tap returns what takes the edges of a bench; nil where k is.
func (k *edgeRecorder) tap() func(driven, captured []signal.Edge) {
	if k == nil {
		return nil
	}
	return k.add
}

// add takes edges, of each line in order of time.
func (k *edgeRecorder) add(driven, captured []signal.Edge) {
	for _, edges := range [2][]signal.Edge{driven, captured} {
		for _, e := range edges {
			if k.newest[e.Line] != e.Level { // a line without a change is told after a gap
				k.newest[e.Line] = e.Level
				k.put(e)
			}
		}
	}
}

func (k *edgeRecorder) put(e signal.Edge) {
	if k.held {
		return
	}
	place := &k.ring[k.next]
	if k.full {
		k.before[place.Line], k.from = place.Level, max(k.from, place.At)
	}
	*place = e
	if k.next++; k.next == len(k.ring) {
		k.next, k.full = 0, true
	}
}

// hold has nothing taken any more until the next begin, so that another goroutine may read
// what there is. Everything up to until was taken.
func (k *edgeRecorder) hold(until signal.Time) {
	if k != nil && !k.held {
		k.held, k.until = true, until
	}
}

// begin forgets everything before at.
func (k *edgeRecorder) begin(at signal.Time) {
	if k == nil {
		return
	}
	copy(k.before, k.newest)
	k.next, k.full, k.held, k.from = 0, false, false, at
}

// each calls f with all edges, of each line in order of time.
func (k *edgeRecorder) each(f func(e signal.Edge)) {
	if k.full {
		for _, e := range k.ring[k.next:] {
			f(e)
		}
	}
	for _, e := range k.ring[:k.next] {
		f(e)
	}
}

// wires returns what was on the wires around moments, which are in order, with a line of
// its own that is high while edges are recorded; nil where nothing of that is left. k is held.
func (k *edgeRecorder) wires(moments []signal.Time) *report.Wires {
	spans := k.spans(moments)
	if len(spans) == 0 {
		return nil
	}
	line := signal.Line(len(k.layout.Lines))
	w := &report.Wires{From: spans[0].From, To: spans[len(spans)-1].To, Layout: k.layout}
	w.Layout.Lines = append(slices.Clone(k.layout.Lines), signal.LineSpec{Name: recordedLine})
	for i, s := range spans {
		levels := append(slices.Clone(k.before), true) // as the span begins
		var within []signal.Edge
		k.each(func(e signal.Edge) {
			switch {
			case e.At < s.From:
				levels[e.Line] = e.Level
			case e.At <= s.To:
				within = append(within, e)
			}
		})
		if i == 0 {
			w.Levels = levels
		} else {
			for l, high := range levels {
				w.Edges = append(w.Edges, signal.Edge{At: s.From, Line: signal.Line(l), Level: high})
			}
		}
		w.Edges = append(append(w.Edges, within...), signal.Edge{At: s.To, Line: line})
	}
	slices.SortStableFunc(w.Edges, func(a, b signal.Edge) int { return cmp.Compare(a.At, b.At) })
	return w
}

// spans returns the stretches around moments of which everything is recorded.
func (k *edgeRecorder) spans(moments []signal.Time) (spans []trace.Span) {
	for _, at := range moments {
		s := trace.Span{From: max(at-around, k.from), To: min(at+around, k.until)}
		switch n := len(spans); {
		case s.From >= s.To:
		case n > 0 && s.From <= spans[n-1].To:
			spans[n-1].To = s.To
		default:
			spans = append(spans, s)
		}
	}
	return spans
}

// momentsOf returns the moments of a case's checks that failed or were left open, in order.
func momentsOf(c *record.Case) (at []signal.Time) {
	for i := range c.Checks {
		if slices.Contains(record.Unmet[:], c.Checks[i].Verdict) {
			at = append(at, signal.Time(c.Checks[i].AtNS))
		}
	}
	slices.Sort(at)
	return slices.Compact(at)
}
