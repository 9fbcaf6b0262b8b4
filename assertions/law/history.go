package law

import (
	"math"
	"slices"

	"hilrig/assertions/measure"
	"hilrig/rig/signal"
)

const (
	// lateAtMost is how old what a command rests on is taken to be where the policy declares
	// no response; common practice, no source.
	lateAtMost = 20 * signal.Millisecond
	// remembered is for how many of its time constants a filter is followed: after it, less
	// than half a thousandth of a change is left.
	remembered = 8
)

// Series is one input over time: a value holds from its time until the next one's.
type Series struct {
	at    []signal.Time // ascending
	value []float64
}

// Add appends a value that holds from a time on, which is not before the last one's. A value
// that is no number says that none holds.
func (s *Series) Add(at signal.Time, value float64) {
	s.at, s.value = append(s.at, at), append(s.value, value)
}

// Grow makes room for n more values.
func (s *Series) Grow(n int) { s.at, s.value = slices.Grow(s.at, n), slices.Grow(s.value, n) }

// Len returns how many values there are.
func (s *Series) Len() int { return len(s.at) }

// Period returns the mean time from one value to the next, 0 with fewer than two.
func (s *Series) Period() signal.Time {
	n := len(s.at) - 1
	if n < 1 {
		return 0
	}
	return (s.at[n] - s.at[0]) / signal.Time(n)
}

// holdsAt returns the index of the value that holds at a time, -1 where none does. It is looked
// for from index near on, the answer for a time that is not later.
func (s *Series) holdsAt(t signal.Time, near int) int {
	low, high := near, len(s.at) // the answer lies in low..high-1
	for step := 1; low+step < len(s.at); step *= 2 {
		if s.at[low+step] > t {
			high = low + step
			break
		}
		low += step
	}
	for low+1 < high {
		if middle := low + (high-low)/2; s.at[middle] <= t {
			low = middle
		} else {
			high = middle
		}
	}
	if low < 0 || low >= len(s.at) || s.at[low] > t {
		return -1
	}
	return low
}

// HeldAt returns the value that holds at a time; ok is false where none does.
func (s *Series) HeldAt(t signal.Time) (value float64, ok bool) {
	k := s.holdsAt(t, 0)
	if k < 0 {
		return 0, false
	}
	return s.value[k], true
}

// over returns the least and the most of the values that hold at some time in from..to, and the
// index of that which holds at from, looked for as holdsAt does. ok is false where none
// holds at from, and where one is not finite.
func (s *Series) over(from, to signal.Time, near int) (i measure.Interval, first int, ok bool) {
	first = s.holdsAt(from, near)
	if first < 0 {
		return i, 0, false
	}
	i = measure.RangeOf()
	for k := first; k < len(s.at) && (s.at[k] <= to || k == first); k++ {
		x := s.value[k]
		if !(math.Abs(x) <= math.MaxFloat64) {
			return i, first, false
		}
		i.Low, i.High = min(i.Low, x), max(i.High, x)
	}
	return i, first, true
}

// History is what went out on the wires. Every series holds each value from when it was whole
// on its wire; what is known at every moment, as a speed, has one for each row of the trace.
type History struct {
	Steer, Throttle, Gain, YawRate, Speed Series

	// Wheels are the speeds of the hubs. Where they are empty, every wheel goes at Speed.
	Wheels [4]Series

	// Curve is what the motors are commanded with no shift over the throttle. nil: what the policy
	// says of that.
	Curve *Curve

	// SteerOpen is what the timing of a receiver pulse and a slack about its centre leave
	// open of the steering that the firmware takes, rad, to both sides; of the difference of two
	// pulses it is as much.
	SteerOpen float64
}

// Horizon returns how far before the end of a command what it rests on may lie: the response that
// the policy declares, or its longest gap where that is longer, a frame of the slowest wire, and what
// a filter, a slew limit or a derivative remember.
func (l *Law) Horizon(h *History) signal.Time {
	return l.Late() + h.slowest() + l.memory()
}

// Late returns how old at most what a command rests on is taken to be, beside the frames of the wires and what is remembered.
func (l *Law) Late() signal.Time {
	late := lateAtMost
	if r := l.p.Response; r != nil && r.AtMost > 0 {
		late = r.AtMost
	}
	if g := l.p.LongestGap; g != nil {
		late = max(late, *g)
	}
	return late
}

// memory returns how far back smoothing looks, and a derivative: the low-pass that it goes through is taken to last no longer
// than its own time; common practice, no source.
func (l *Law) memory() (back signal.Time) {
	if s := l.p.Smoothing; s != nil {
		back = s.Lasts() + signal.Time(-l.scale.Lowest*float64(s.FullRangeIn)) // below idle is as much range again
	}
	if at := l.p.ShiftAt; at != nil {
		back += signal.FromSeconds(at.DerivativeTime)
	}
	return back
}

// Lasts returns how long at most a change of what is commanded takes to have come out: through its whole range, and until
// nothing is left of it in a filter.
func (s *Smoothing) Lasts() signal.Time { return remembered*s.Filter + s.FullRangeIn }

// slowest returns the period of the slowest wire.
func (h *History) slowest() signal.Time {
	return max(h.Steer.Period(), h.Throttle.Period(), h.Gain.Period(), h.YawRate.Period(), h.Speed.Period())
}

// Over returns the inputs that a command which ended at a time may rest on: from the least to
// the most of what went out in the horizon before. ok is false where the history does not
// reach back so far, or holds something that is no number.
func (l *Law) Over(h *History, end signal.Time) (in Inputs, ok bool) {
	return l.between(h, end-l.Horizon(h), end, &places{})
}

// places are where the series of a history were read last, from which the next reading goes on: the
// four wheels and then the others in the order of History.
type places [9]int

// between returns the inputs from one time to another, from their least to their most. Where
// at is not fresh, from is not before that of the call before.
func (l *Law) between(h *History, from, to signal.Time, at *places) (Inputs, bool) {
	all := true
	read := func(s *Series, k int) (i measure.Interval) {
		i, first, ok := s.over(from, to, at[k])
		at[k] = first
		all = all && ok
		return i
	}
	in := h.read(read)
	if !all {
		return in, false
	}
	l.derive(h, &in, from, to, at[4])
	return in, true
}

// read returns the inputs that one gives of each series; k is its place in [places].
func (h *History) read(one func(s *Series, k int) measure.Interval) (in Inputs) {
	in.Steer, in.Throttle, in.Gain = one(&h.Steer, 4), one(&h.Throttle, 5), one(&h.Gain, 6)
	in.YawRate, in.Speed = one(&h.YawRate, 7), one(&h.Speed, 8)
	if in.HasWheels = h.Wheels[0].Len() > 0; in.HasWheels {
		for i := range h.Wheels {
			in.Wheels[i] = one(&h.Wheels[i], i)
		}
	}
	return in
}

// derive fills in the inputs that follow from the others; near is the index of the steering that
// holds at from.
func (l *Law) derive(h *History, in *Inputs, from, to signal.Time, near int) {
	in.Steer.Low, in.Steer.High = in.Steer.Low-h.SteerOpen, in.Steer.High+h.SteerOpen
	if d := l.p.Demand; d != nil && d.SteerRate != 0 {
		in.SteerRate = h.Steer.rate(from, to, near, h.SteerOpen)
	}
	if at := l.p.ShiftAt; at != nil && at.DerivativeTime > 0 {
		in.Derivative = at.DerivativeTime / l.soonest(h)
	}
	in.Unshifted = l.unshifted(h.Curve, in.Throttle)
	in.Stood, in.HasStood = h.Curve.Stands(in.Throttle)
}

// soonest returns the shortest time, s, over which firmware may take a change to have come: from one turn of its loop to
// the next, or from one value to the next of the wires where those come sooner.
func (l *Law) soonest(h *History) float64 {
	least := min(h.Steer.Period(), h.YawRate.Period()).Seconds()
	if rate := l.p.LoopRate; rate != nil {
		least = min(least, 1 / *rate)
	}
	return max(least, fastestTurn)
}

// fastestTurn is the shortest turn of a loop that is reckoned with, s; common practice, no source.
const fastestTurn = 200e-6

// rate returns the least and the most rate of change, per s, that firmware may see: from one value
// to the next, each up to open off to either side, or none between them. near is the index of the value
// that holds at from.
func (s *Series) rate(from, to signal.Time, near int, open float64) (i measure.Interval) {
	for k := max(near, 1); k < len(s.at) && s.at[k] <= to; k++ {
		if dt := (s.at[k] - s.at[k-1]).Seconds(); dt > 0 {
			rise := s.value[k] - s.value[k-1]
			i.Low, i.High = min(i.Low, (rise-open)/dt), max(i.High, (rise+open)/dt)
		}
	}
	return i
}

// Frame returns what the law says of a command that ended at a time; false where the history
// does not reach back so far. A shift that integrates may still hold what it gathered before:
// there motors that some branch moves may be shifted to either side.
func (l *Law) Frame(h *History, end signal.Time) (a Answer, ok bool) {
	in, ok := l.Over(h, end)
	if !ok {
		return a, false
	}
	a = l.At(&in)
	l.gathered(&a)
	return a, true
}

// gathered widens an answer by what a shift that integrates may still hold.
func (l *Law) gathered(a *Answer) {
	if !l.p.MayIntegrate() || a.Missing != "" {
		return
	}
	most := l.bound(1 - l.scale.Lowest)
	for i := range a.Commands {
		if l.moves[0][0].signs[i] == 0 && l.moves[0][1].signs[i] == 0 && l.moves[1][0].signs[i] == 0 && l.moves[1][1].signs[i] == 0 {
			continue
		}
		c, s, u := &a.Commands[i], &a.Shifts[i], a.Unshifted[i]
		c.Low, c.High = min(c.Low, max(u.Low-most, a.Allowed.Low)), max(c.High, min(u.High+most, a.Allowed.High))
		s.Low, s.High = min(s.Low, c.Low-u.High, -most), max(s.High, c.High-u.Low, most)
		a.unlimited(i)
	}
	a.Sum = together(&a.Commands)
}
