package assertions

import (
	"hilrig/assertions/law"
	"hilrig/rig/trace"
)

// sent returns what was put on a wire for a step, each value from when it was whole;
// frames with a wrong checksum carry none. Where nothing was, it is the column.
func (e *Evidence) sent(to trace.SentTo, or trace.Channel, step *Step) (s law.Series) {
	if e.Trace == nil {
		return s
	}
	all := e.Trace.SentBetween(to, e.since(step), e.until(step))
	s.Grow(len(all))
	for _, x := range all {
		if !x.Bad {
			s.Add(x.End, x.Value)
		}
	}
	if s.Len() == 0 {
		return e.column(or, step)
	}
	return s
}

// column returns a column's values for a step.
func (e *Evidence) column(c trace.Channel, step *Step) (s law.Series) {
	rows := rowsOf(e.Trace, e.since(step), e.until(step), c)
	s.Grow(rows.n())
	for i, x := range rows.of(c) {
		s.Add(rows.time(i), x)
	}
	return s
}

// history returns what was played to the board for a step.
func (e *Evidence) history(step *Step) law.History {
	return law.History{
		Steer:     e.sent(trace.SentSteer, trace.Steer, step),
		Throttle:  e.sent(trace.SentThrottle, trace.Throttle, step),
		Gain:      e.sent(trace.SentGain, trace.Gain, step),
		YawRate:   e.sent(trace.SentYawRate, trace.YawRate, step),
		Speed:     e.column(trace.Speed, step),
		Wheels:    e.hubs(step),
		SteerOpen: SteerOpen,
	}
}

// prepare reads the inputs from the trace.
func (f *follower) prepare() error {
	f.law = f.e.law()
	f.history = f.e.history(f.s)
	if f.history.Curve = f.e.Curve; f.history.Curve == nil && f.p.ThrottleCurve != law.ThrottleCurveNone {
		f.history.Curve = law.Identity()
	}
	for _, s := range []*law.Series{&f.history.Steer, &f.history.Throttle, &f.history.Gain, &f.history.YawRate, &f.history.Speed} {
		if s.Len() == 0 {
			return f.s.undecided("the trace does not hold what was played, so that nothing can be declared for it")
		}
	}
	return nil
}
