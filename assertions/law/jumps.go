package law

import (
	"math"

	"hilrig/assertions/measure"
	"hilrig/rig/signal"
)

// jumps is how far the law of noisy inputs goes to and fro from command to command, by which the mean of
// firmware that smooths its inputs may differ from that of firmware that does not. In proportion to
// an input both have the same mean. Where the law jumps, as where noise takes the yaw rate
// from a turn to the left to one to the right, the one jumps at other moments than the other, and of so many
// moments by chance more are on the one side.
type jumps struct {
	commands, shifts [4]walk
	sum              walk
}

func newJumps() *jumps {
	j := &jumps{sum: newWalk()}
	for i := range j.commands {
		j.commands[i], j.shifts[i] = newWalk(), newWalk()
	}
	return j
}

// add takes the law of the next command.
func (j *jumps) add(one *Answer) {
	for i := range j.commands {
		j.commands[i].add(one.Commands[i])
		j.shifts[i].add(one.Shifts[i])
	}
	j.sum.add(one.Sum)
}

// widen widens means by as much as smoothing over a horizon may change them, where noise is new with each
// period of the yaw rate, whose sensor is the noisiest.
func (j *jumps) widen(a *Answer, ends []signal.Time, horizon, period signal.Time) {
	if len(ends) < 3 {
		return
	}
	whole := (ends[len(ends)-1] - ends[0]).Seconds()
	period = max(period, signal.FromSeconds(whole/float64(len(ends)-1)))
	m, taps := whole/period.Seconds(), max(horizon.Seconds()/period.Seconds(), 1)
	room := smoothedRoom * math.Sqrt(taps/2) / m
	for i := range a.Commands {
		a.Commands[i] = j.commands[i].widened(a.Commands[i], room)
		a.Shifts[i] = j.shifts[i].widened(a.Shifts[i], room)
	}
	a.Sum = j.sum.widened(a.Sum, room)
}

// smoothedRoom is how many standard deviations of a mean of as many values as there are horizons are left. The share of
// the signs of white noise and that of its mean over q values differ by 0.6 of that, rms: from the arcsine law of
// normal signs (CALC).
const smoothedRoom = 2

// leastJump is the least step from command to command that counts as a jump, share of full: what is less of each hardly
// moves a mean.
const leastJump = 0.005

// walk is one quantity from command to command.
type walk struct {
	last, all measure.Interval // all that it went through
	low, high float64          // sums of the squares of the jumps of its ends
	begun     bool
}

func newWalk() walk { return walk{all: measure.RangeOf()} }

func (w *walk) add(i measure.Interval) {
	jump := func(by float64) float64 {
		if !w.begun || math.Abs(by) < leastJump {
			return 0
		}
		return by * by
	}
	w.low, w.high = w.low+jump(i.Low-w.last.Low), w.high+jump(i.High-w.last.High)
	w.last, w.all, w.begun = i, hull(w.all, i), true
}

// widened returns a mean with that much room for each root of the sum of the squared jumps, within all that was gone
// through.
func (w *walk) widened(mean measure.Interval, room float64) measure.Interval {
	return measure.Interval{
		Low:  min(mean.Low, max(mean.Low-float64(room*math.Sqrt(w.low)), w.all.Low)),
		High: max(mean.High, min(mean.High+float64(room*math.Sqrt(w.high)), w.all.High)),
	}
}
