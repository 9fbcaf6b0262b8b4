package rig

import (
	"math/bits"

	"hilrig/rig/signal"
	"hilrig/rig/trace"
)

// Timing is how well a bench kept time.
type Timing struct {
	Late      signal.Time // the worst by which a driven edge, or a message that is listed, was late, at least
	LateCount int64       // how many were late by more than LateFloor
	Gap       signal.Time // the longest gap of the sampler in which a captured edge fell; 0 where every edge was seen at its time
	Gaps      Gaps        // of all captured edges
	Unseen    uint32      // ports, a bit each by their place in the layout, on which messages were sent and nothing was seen
	Uncertain int64       // motor commands left out, for the sampler left them open
	Settled   int64       // motor commands that were used, one of whose bits the sampler left open and the checksum settled
}

// LateFloor is how late an edge may be without a mention in the trace.
const LateFloor = 10 * signal.Microsecond

// Gaps counts gaps by their length, eight classes to the octave.
type Gaps struct {
	count [8 * 33]int64
	total int64
}

// class returns the class of a gap, g above 0.
func class(g uint32) int {
	if g < 8 {
		return int(g)
	}
	shift := bits.Len32(g) - 4
	return 8*(shift+1) + int(g>>shift) - 8
}

// top returns the longest gap of a class.
func top(class int) signal.Time {
	if class < 8 {
		return signal.Time(class)
	}
	shift := class/8 - 1
	return signal.Time(class%8+9)<<shift - 1
}

func (g *Gaps) add(gap uint32) {
	g.count[class(gap)]++
	g.total++
}

// Count returns how many gaps there were.
func (g *Gaps) Count() int64 { return g.total }

// Quantile returns the gap that a share q of all gaps, 0 to 1, does not exceed,
// rounded up by an eighth at most; 0 without any.
func (g *Gaps) Quantile(q float64) signal.Time {
	seen := int64(0)
	for i, n := range g.count {
		if seen += n; n > 0 && float64(seen) >= q*float64(g.total) {
			return top(i)
		}
	}
	return 0
}

// Timing returns how well the bench kept time since the rig was made.
func (r *Rig) Timing() Timing { return r.timing }

// sampled counts the gap in which a captured edge fell, and lists a long one.
func (t *Timing) sampled(e signal.Edge, tr *trace.Trace) {
	late := signal.Time(e.Uncertainty)
	t.Gap = max(t.Gap, late)
	t.Gaps.add(e.Uncertainty)
	if n := len(tr.NotSampled); late > LateFloor && (n == 0 || tr.NotSampled[n-1].To < e.At) {
		tr.NotSampled = append(tr.NotSampled, trace.Span{From: e.At - late, To: e.At})
	}
}

// Add adds the timing of another bench.
func (t *Timing) Add(other *Timing) {
	t.Late, t.Gap = max(t.Late, other.Late), max(t.Gap, other.Gap)
	t.LateCount += other.LateCount
	t.Uncertain += other.Uncertain
	t.Settled += other.Settled
	t.Gaps.total += other.Gaps.total
	for i, n := range other.Gaps.count {
		t.Gaps.count[i] += n
	}
}

// leftOut counts what the sampler left open, settled by a checksum or not.
func (t *Timing) leftOut(events []trace.Event) {
	for _, e := range events {
		switch e.Kind {
		case trace.Uncertain:
			t.Uncertain++
		case trace.Settled:
			t.Settled++
		}
	}
}
