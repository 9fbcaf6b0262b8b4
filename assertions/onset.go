package assertions

import (
	"slices"

	"hilrig/rig/signal"
	"hilrig/rig/trace"
	"hilrig/stimulus"
)

// onset is what a board has to answer within a time, and from when to when it
// can be watched.
type onset struct {
	what        string      // "the last good frame of yaw_serial"
	at          signal.Time // the time is counted from here,
	uncertainty signal.Time // or from up to this much earlier
	end         signal.Time // of the watched stretch
}

// faultOn returns the step's fault of one of the kinds on a wire that is
// accepted, and when it ends. Without a trace there is none.
func (b *branch) faultOn(accepts func(wire string) bool, example string, kinds ...stimulus.FaultKind) (f stimulus.Fault, end signal.Time, err error) {
	i := slices.IndexFunc(b.s.Faults, func(f stimulus.Fault) bool { return slices.Contains(kinds, f.Kind) && accepts(f.Wire) })
	switch {
	case i < 0:
		return f, 0, b.s.undecided("no such fault is played in this step; add faults: [{wire: %s, is: %s}]", example, kinds[0])
	case b.e.Trace == nil:
		return f, 0, b.s.undecided("the case has no trace")
	}
	f, end = b.s.Faults[i], b.s.To
	if f.To > f.From {
		end = min(end, f.To)
	}
	return f, end, nil
}

// named accepts the wire of that name.
func named(name string) func(string) bool {
	return func(wire string) bool { return wire == name }
}

// isEncoder accepts a wheel's encoder and each of its lines.
func isEncoder(wire string) bool {
	return slices.ContainsFunc(signal.Wheels[:], func(wheel signal.Wheel) bool {
		return onWheel(wire, wheel)
	})
}

// onWheel accepts a wheel's encoder and each of its lines.
func onWheel(wire string, wheel signal.Wheel) bool {
	return wire == wheel.String() || slices.ContainsFunc(signal.WheelSensorRoles(), func(role signal.Role) bool {
		return wire == signal.Spec(role, wheel).Name
	})
}

// isSerial accepts what is neither a receiver channel nor an encoder.
func isSerial(wire string) bool {
	return wire != "steer" && wire != "throttle" && wire != "gain" && !isEncoder(wire)
}

// slack is how long after its time a fault may begin: it does at a tick.
func (e *Evidence) slack() signal.Time { return 2 * max(e.Trace.Tick, signal.Millisecond) }

// lossOf finds the last good pulse or frame on a wire before the step's fault of a kind, after
// which there is none.
func (b *branch) lossOf(accepts func(wire string) bool, example string, list trace.SentTo, kind stimulus.FaultKind) (onset, error) {
	f, end, err := b.faultOn(accepts, example, kind)
	if err != nil {
		return onset{}, err
	}
	what := "pulse"
	if list == trace.SentYawRate {
		what = "frame"
	}
	c := onset{what: "the last good " + what + " of " + f.Wire, end: end}
	found := false
	for _, x := range b.e.Trace.SentBetween(list, f.From-longAgo, end) {
		switch {
		case x.Bad:
		case x.Start < f.From+b.e.slack():
			c.at, found = x.End, true
		case x.Start < end:
			return c, b.s.blockedAt(Undecided, x.Start, "a good %s of %s went out at %v, under the fault; let it last through the step and take every one", what, f.Wire, x.Start)
		}
	}
	if !found {
		return c, b.s.undecided("no good %s of %s went out before the fault; let the step before it be played first", what, f.Wire)
	}
	return c, nil
}

// freeze finds the first of the yaw frames that all carry the same value up to the end of
// the fault that freezes them: the last that told anything.
func (b *branch) freeze() (onset, error) {
	f, end, err := b.faultOn(isSerial, "yaw_serial", stimulus.Stuck)
	if err != nil {
		return onset{}, err
	}
	c := onset{what: "the last frame of " + f.Wire + " with a fresh value", end: end}
	sent := b.e.Trace.SentBetween(trace.SentYawRate, f.From-longAgo, end)
	last := len(sent) - 1
	first := last
	for first > 0 && sent[first-1].Value == sent[last].Value {
		first--
	}
	if last-first < fewest || sent[first].Start > f.From+b.e.slack()+2*(sent[last].Start-sent[last-1].Start) {
		return c, b.s.undecided("the frames of %s do not carry one value through the fault; let it last through the step", f.Wire)
	}
	c.at = sent[first].End
	return c, nil
}

// silence returns when an encoder fell silent: at the first tick of its fault, its last edge
// less than a tick before.
func (b *branch) silence() (onset, error) {
	f, end, err := b.faultOn(isEncoder, "rear_left", stimulus.Lost, stimulus.Stuck)
	if err != nil {
		return onset{}, err
	}
	return onset{what: "the last edge of " + f.Wire, at: f.From, uncertainty: b.e.slack(), end: end}, nil
}
