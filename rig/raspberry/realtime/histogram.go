package realtime

import (
	"math/bits"

	"hilrig/rig/signal"
)

// Histogram counts spans of time in classes that widen with them, four to an
// octave: a quantile is true to a fifth.
type Histogram struct {
	Count uint64
	Most  signal.Time
	class [classes]uint64
}

const classes = 4 * 40 // up to 2^40 ns, 18 minutes

// Add counts one span; those below 0 count as 0.
//
//go:nosplit
func (h *Histogram) Add(t signal.Time) {
	if t < 0 {
		t = 0
	}
	if t > h.Most {
		h.Most = t
	}
	h.Count++
	h.class[classOf(t)]++
}

// AddMany counts n spans of t, which is not below 0.
func (h *Histogram) AddMany(t signal.Time, n uint64) {
	if n == 0 {
		return
	}
	h.Most = max(h.Most, t)
	h.Count += n
	h.class[classOf(t)] += n
}

// Since returns what a histogram has counted since it was as before. The longest is that
// of all.
func (h Histogram) Since(before Histogram) Histogram {
	h.Count -= before.Count
	for i, n := range before.class {
		h.class[i] -= n
	}
	return h
}

// classOf returns the class of a span: below 4 ns the span itself.
//
//go:nosplit
func classOf(t signal.Time) int {
	octave := bits.Len64(uint64(t))
	if octave < 3 {
		return int(t) & 3
	}
	return min((octave-2)<<2|int(t>>(octave-3))&3, classes-1)
}

// floorOf returns the shortest span of a class.
func floorOf(class int) signal.Time {
	if class < 4 {
		return signal.Time(class)
	}
	octave := class>>2 + 2
	return signal.Time(4|class&3) << (octave - 3)
}

// Above returns how many spans were surely longer than t.
func (h *Histogram) Above(t signal.Time) uint64 {
	n := uint64(0)
	for c := classes - 1; c > classOf(max(t, 0)); c-- {
		n += h.class[c]
	}
	return n
}

// TimeAbove returns how long all spans that were surely longer than t were together,
// true to an eighth.
func (h *Histogram) TimeAbove(t signal.Time) (sum signal.Time) {
	for c := classes - 1; c > classOf(max(t, 0)); c-- {
		sum += signal.Time(h.class[c]) * ((floorOf(c) + min(floorOf(c+1)-1, h.Most)) / 2)
	}
	return sum
}

// Quantile returns a span that at least the share q of all do not exceed, 0 where
// none were counted.
func (h *Histogram) Quantile(q float64) signal.Time {
	need := q * float64(h.Count)
	seen := uint64(0)
	for c, n := range h.class {
		seen += n
		if n > 0 && float64(seen) >= need {
			return min(floorOf(c+1)-1, h.Most)
		}
	}
	return h.Most
}

// Class is one class of a histogram: spans from Least on, and below Below.
type Class struct {
	Least, Below signal.Time
	Count        uint64
}

// Octaves returns the counts by octave, from the first to the last that holds any.
func (h *Histogram) Octaves() []Class { return h.by(4) }

// Classes returns the counts by quarter of an octave, from the first to the last that
// holds any.
func (h *Histogram) Classes() []Class { return h.by(1) }

// by returns the counts of n classes at a time.
func (h *Histogram) by(n int) (out []Class) {
	used := 0
	for c := 0; c < classes; c += n {
		o := Class{Least: floorOf(c), Below: floorOf(c + n)}
		for _, k := range h.class[c : c+n] {
			o.Count += k
		}
		if o.Count == 0 && used == 0 {
			continue
		}
		if out = append(out, o); o.Count > 0 {
			used = len(out)
		}
	}
	return out[:used]
}
