package law

import (
	"hilrig/assertions/measure"
	"hilrig/rig/signal"
)

// delays is at how many constant delays, evenly from none to the horizon, the law of a mean
// is worked out. In a hold the mean hardly goes with the delay, and while something is ramped in
// proportion to it.
const delays = 7

// Mean returns what the law says of the mean of commands that ended at given times, in ascending
// order. Firmware looks back by some constant delay: for each of several
// within the horizon the law is asked with the inputs as they were so long before each
// end, and its answers are averaged; the mean may be that of any of these delays. So noise on
// the wires averages out. Firmware that smooths what it reads is between those delays and one
// that reads the mean of each input over the whole horizon, which is worked out as well.
//
// Perhaps holds where it does of any command, Surely and Past where they do of all; Missing is the first
// that is. ok is false where there is no end, and where the history does not reach back from
// one of them so far.
//
// For a shift that integrates it is the mean of those that began with nothing gathered.
func (l *Law) Mean(h *History, ends []signal.Time) (a Answer, ok bool) {
	horizon := l.Horizon(h)
	for k := range delays {
		at := places{}
		delay := horizon * signal.Time(k) / (delays - 1)
		j := newJumps()
		one, ok := l.average(ends, func(end signal.Time) (Inputs, bool) {
			return l.between(h, end-delay, end-delay, &at)
		}, j)
		if !ok {
			return a, false
		}
		j.widen(&one, ends, horizon, h.YawRate.Period())
		a = hullOf(k, a, one)
	}
	at := places{}
	one, ok := l.average(ends, func(end signal.Time) (Inputs, bool) {
		return l.smoothed(h, end-horizon, end, &at)
	}, newJumps())
	return hullOf(delays, a, one), ok
}

// average returns the mean of the law's answers, whose jumps it hands on.
func (l *Law) average(ends []signal.Time, inputs func(end signal.Time) (Inputs, bool), j *jumps) (a Answer, ok bool) {
	n := float64(len(ends))
	for k, end := range ends {
		in, ok := inputs(end)
		if !ok {
			return a, false
		}
		one := l.At(&in)
		for i := range a.Commands {
			sum(&a.Commands[i], one.Commands[i])
			sum(&a.Unshifted[i], one.Unshifted[i])
			sum(&a.Shifts[i], one.Shifts[i])
		}
		sum(&a.Sum, one.Sum)
		a.note(k, &one)
		j.add(&one)
	}
	for i := range a.Commands {
		a.Commands[i], a.Unshifted[i], a.Shifts[i] = scaled(a.Commands[i], 1/n), scaled(a.Unshifted[i], 1/n), scaled(a.Shifts[i], 1/n)
	}
	a.Sum = scaled(a.Sum, 1/n)
	return a, n > 0
}

// note takes over from one of several answers what is not averaged; k counts those before.
func (a *Answer) note(k int, one *Answer) {
	if k == 0 {
		a.Lowest, a.Highest = one.Lowest, one.Highest
		a.Allowed, a.Missing, a.Branch, a.Open = one.Allowed, one.Missing, one.Branch, one.Open
		a.Perhaps, a.Surely, a.Past = one.Perhaps, one.Surely, one.Past
		return
	}
	a.Allowed = hull(a.Allowed, one.Allowed)
	a.Lowest, a.Highest = hull(a.Lowest, one.Lowest), hull(a.Highest, one.Highest)
	for i := range a.Perhaps {
		a.Perhaps[i] = a.Perhaps[i] || one.Perhaps[i]
		a.Surely[i] = a.Surely[i] && one.Surely[i]
		a.Past[i] = a.Past[i] && one.Past[i]
	}
	if a.Missing == "" {
		a.Missing = one.Missing
	}
	if a.Branch != one.Branch {
		a.Branch = Open
	}
	a.Open |= one.Open
}

// hullOf returns the hull of answers; k counts those that a holds.
func hullOf(k int, a, one Answer) Answer {
	if k == 0 {
		return one
	}
	for i := range a.Commands {
		a.Commands[i] = hull(a.Commands[i], one.Commands[i])
		a.Unshifted[i] = hull(a.Unshifted[i], one.Unshifted[i])
		a.Shifts[i] = hull(a.Shifts[i], one.Shifts[i])
	}
	a.Sum = hull(a.Sum, one.Sum)
	a.note(k, &one)
	return a
}

// smoothed returns the mean of each input from one time to a later one.
func (l *Law) smoothed(h *History, from, to signal.Time, at *places) (Inputs, bool) {
	all := true
	read := func(s *Series, k int) measure.Interval {
		x, first, ok := s.mean(from, to, at[k])
		at[k] = first
		all = all && ok
		return measure.Interval{Low: x, High: x}
	}
	in := h.read(read)
	if !all {
		return in, false
	}
	l.derive(h, &in, from, to, at[4])
	if rate := (in.SteerRate.Low + in.SteerRate.High) / 2; l.p.Demand != nil {
		in.SteerRate = measure.Interval{Low: rate, High: rate}
	}
	return in, true
}

// mean returns the mean over time of the values that hold in from..to, and the index of the first, which
// is looked for as holdsAt does.
func (s *Series) mean(from, to signal.Time, near int) (x float64, first int, ok bool) {
	i, first, ok := s.over(from, to, near)
	if !ok || i.Low == i.High || from == to {
		return i.Low, first, ok
	}
	whole := (to - from).Seconds()
	for k := first; k < len(s.at) && s.at[k] <= to; k++ {
		begin, end := max(s.at[k], from), to
		if k+1 < len(s.at) {
			end = min(s.at[k+1], to)
		}
		x += float64(s.value[k] * ((end - begin).Seconds() / whole))
	}
	return x, first, true
}
