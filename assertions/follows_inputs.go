package assertions

import (
	"hilrig/assertions/measure"

	"hilrig/rig/signal"
	"hilrig/rig/trace"
)

// series is one input over time: a value holds until the next.
type series struct {
	at    []signal.Time // ascending
	value []float64
	index int // the value that holds at the last time asked for
}

func (s *series) rewind() { s.index = 0 }

func (s *series) add(at signal.Time, value float64) {
	s.at, s.value = append(s.at, at), append(s.value, value)
}

// over returns the least and the most of the values that hold at some time in
// from..to, given that from is not before that of the last call. ok is false
// where none holds at from, and where one is not finite.
func (s *series) over(from, to signal.Time) (l Limit, ok bool) {
	for s.index+1 < len(s.at) && s.at[s.index+1] <= from {
		s.index++
	}
	if len(s.at) == 0 || s.at[s.index] > from {
		return l, false
	}
	l = measure.RangeOf()
	for i := s.index; i < len(s.at) && (s.at[i] <= to || i == s.index); i++ {
		if !finite(s.value[i]) {
			return l, false
		}
		l.Include(s.value[i])
	}
	return l, true
}

// period returns the mean time from one value to the next, 0 with fewer than two.
func (s *series) period() signal.Time {
	n := len(s.at) - 1
	if n < 1 {
		return 0
	}
	return (s.at[n] - s.at[0]) / signal.Time(n)
}

// sent returns what was put on a wire for a step, each value from when it was whole;
// frames with a wrong checksum carry none. Where nothing was, it is the column.
func (e *Evidence) sent(to trace.SentTo, or trace.Channel, step *Step) series {
	var s series
	if e.Trace == nil {
		return s
	}
	for _, x := range e.Trace.SentBetween(to, e.since(step), e.until(step)) {
		if !x.Bad {
			s.add(x.End, x.Value)
		}
	}
	if len(s.at) == 0 {
		return e.column(or, step)
	}
	return s
}

// column returns a column's values for a step.
func (e *Evidence) column(c trace.Channel, step *Step) series {
	rows := rowsOf(e.Trace, e.since(step), e.until(step), c)
	s := series{at: make([]signal.Time, rows.n()), value: rows.of(c)}
	for i := range s.at {
		s.at[i] = rows.time(i)
	}
	return s
}

// inputs are what a command may rest on, each from its least to its most.
type inputs struct {
	steer, throttle, gain, yaw, speed Limit
	lowest, highest                   Limit // what the lowest and the highest command allowed may be
}

// inputs returns what was played in the horizon before a command ended.
func (f *follower) inputs(end signal.Time) (in inputs, ok bool) {
	ok = true
	for _, x := range []struct {
		from *series
		to   *Limit
	}{{&f.steer, &in.steer}, {&f.throttle, &in.throttle}, {&f.gain, &in.gain}, {&f.yaw, &in.yaw}, {&f.speed, &in.speed}} {
		l, there := x.from.over(end-f.horizon, end)
		*x.to = l
		ok = ok && there
	}
	in.highest = between(f.highest(&in, true), f.highest(&in, false))
	in.lowest = between(f.lowest(&in, false), f.lowest(&in, true))
	return in, ok
}

// prepare reads the inputs from the trace.
func (f *follower) prepare() error {
	e := f.e
	f.steer = e.sent(trace.SentSteer, trace.Steer, f.s)
	f.throttle = e.sent(trace.SentThrottle, trace.Throttle, f.s)
	f.gain = e.sent(trace.SentGain, trace.Gain, f.s)
	f.yaw = e.sent(trace.SentYawRate, trace.YawRate, f.s)
	f.speed = e.column(trace.Speed, f.s)
	f.horizon = lateAtMost
	if r := f.p.Response; r != nil && r.AtMost > 0 {
		f.horizon = r.AtMost
	}
	slowest := signal.Time(0)
	for _, s := range []*series{&f.steer, &f.throttle, &f.gain, &f.yaw, &f.speed} {
		if len(s.at) == 0 {
			return f.s.undecided("the trace does not hold what was played, so that nothing can be declared for it")
		}
		slowest = max(slowest, s.period())
	}
	f.horizon += slowest
	for i, turn := range []int{1, -1} {
		f.under[i], f.over[i] = signsOf(f.p.Understeer, turn), signsOf(f.p.Oversteer, turn)
	}
	return nil
}
