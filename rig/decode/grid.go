package decode

import (
	"math"
	"slices"

	"hilrig/rig/signal"
	"hilrig/rig/trace"
)

// Grid is how regularly a line gives its frames, from beginning to beginning.
// The zero value stands for fewer than two frames.
type Grid struct {
	Frames  int
	Period  float64     // s, mean of the intervals
	Jitter  float64     // s, standard deviation of the intervals
	Least   signal.Time // the shortest interval
	Most    signal.Time // the longest
	Skipped int         // intervals longer than one and a half times the median, in which frames are missing; they count nowhere else
}

// Rate returns frames a second, 0 where there are fewer than two.
func (g Grid) Rate() float64 {
	if g.Period <= 0 {
		return 0
	}
	return 1 / g.Period
}

// GridOf measures the frames of one line, in order of time.
func GridOf(frames []trace.Frame) Grid {
	g := Grid{Frames: len(frames)}
	if len(frames) < 2 {
		return g
	}
	intervals := make([]signal.Time, len(frames)-1)
	for i := range intervals {
		intervals[i] = frames[i+1].Start - frames[i].Start
	}
	slices.Sort(intervals)
	median := intervals[(len(intervals)-1)/2]
	n := len(intervals)
	for n > 0 && intervals[n-1] > median+median/2 {
		n--
	}
	g.Skipped, g.Least, g.Most = len(intervals)-n, intervals[0], intervals[n-1]
	sum := 0.0
	for _, t := range intervals[:n] {
		sum += t.Seconds()
	}
	g.Period = sum / float64(n)
	squares := 0.0
	for _, t := range intervals[:n] {
		off := t.Seconds() - g.Period
		squares += float64(off * off)
	}
	if n > 1 {
		g.Jitter = math.Sqrt(squares / float64(n-1))
	}
	return g
}
