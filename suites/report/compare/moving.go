package compare

import (
	"math"

	"hilrig/plant"
	"hilrig/rig/trace"
	"hilrig/stimulus"
	"hilrig/suites/record"
)

// moving returns how much farther a motor's commands may lie apart about a bin, share of range, because what is played moves
// there: a board counts edges, reads pulses and takes frames at moments of its own, so that it may have a speed of now with a
// yaw rate of a turn ago, in one run and not in the other. That is as far as a command goes over all that was played about
// the bin, each by itself. Where nobody knows how commands follow from what is played, it is as far as they went.
func (c *comparer) moving(e *envelope, a, b *record.Along, w plant.Wheel, i int) float64 {
	low, high := e.playedAbout(a, i)
	if low == high {
		return 0
	}
	if c.known.Moving != nil {
		if by := c.known.Moving(low, high)[w]; !math.IsNaN(by) {
			return by
		}
	}
	return max(e.reach(&a.Motors[w], i), e.reach(&b.Motors[w], i))
}

// playedAbout returns the least and the most of what was played about a bin.
func (e *envelope) playedAbout(a *record.Along, i int) (low, high stimulus.Values) {
	for _, of := range [...]struct {
		channel   trace.Channel
		low, high *float64
	}{
		{trace.Speed, &low.Speed, &high.Speed}, {trace.YawRate, &low.YawRate, &high.YawRate}, {trace.Steer, &low.Steer, &high.Steer},
		{trace.Throttle, &low.Throttle, &high.Throttle}, {trace.Gain, &low.Gain, &high.Gain},
	} {
		*of.low, *of.high = e.ends(a.Played[of.channel.String()], a.Played[of.channel.String()], i)
	}
	return low, high
}

// reach is how far commands went about a bin.
func (e *envelope) reach(m *record.Commands, i int) float64 {
	low, high := e.ends(m.Low, m.High, i)
	return high - low
}

// ends returns the least of some and the most of other values about a bin, both 0 where there are none.
func (e *envelope) ends(lows, highs []float64, i int) (low, high float64) {
	low, high = math.Inf(1), math.Inf(-1)
	for j := max(i-e.bins, 0); j <= min(i+e.bins, len(lows)-1); j++ {
		if !math.IsNaN(lows[j]) {
			low, high = min(low, lows[j]), max(high, highs[j])
		}
	}
	if low > high {
		return 0, 0
	}
	return low, high
}
