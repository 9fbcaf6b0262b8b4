package stimulus

import (
	"sort"

	"hilrig/rig/signal"
)

// Track is how one value goes over the time of a program: a list of segments, each
// ruling from its start to the next one's, the last for good. Before the first
// segment a track has that one's first value. The zero Track is 0 all the time.
type Track struct {
	segments []segment // in order of start, none at the same time
}

type segment struct {
	start signal.Time
	shape Shape
}

// Add lets shape rule from at on. Segments that begin at at or later are dropped.
func (t *Track) Add(at signal.Time, shape Shape) {
	n := len(t.segments)
	for n > 0 && t.segments[n-1].start >= at {
		n--
	}
	t.segments = append(t.segments[:n], segment{at, shape})
}

// Hold keeps value from at on.
func (t *Track) Hold(at signal.Time, value float64) { t.Add(at, Hold(value)) }

// RampTo goes, from at on, from the value that the track has there to value in a straight line,
// is there at at+over, and stays. The value there is the one that the track would have had at at
// without the ramp.
func (t *Track) RampTo(at, over signal.Time, value float64) {
	t.Add(at, Ramp{From: t.At(at), To: value, Over: over})
}

// At returns the value at time at.
func (t *Track) At(at signal.Time) float64 {
	if len(t.segments) == 0 {
		return 0
	}
	// The first segment that begins after at.
	i := sort.Search(len(t.segments), func(i int) bool { return t.segments[i].start > at })
	if i == 0 {
		return t.segments[0].shape.At(0)
	}
	s := &t.segments[i-1]
	return s.shape.At(at - s.start)
}
