package assertions

import (
	"strings"

	"hilrig/plant"
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
// accepted, and when it ends.
func (b *branch) faultOn(accepts func(wire string) bool, example string, kinds ...stimulus.FaultKind) (f stimulus.Fault, end signal.Time, err error) {
	for _, f := range b.s.Faults {
		for _, k := range kinds {
			if f.Kind != k || !accepts(f.Wire) {
				continue
			}
			end = b.s.To
			if f.To > f.From {
				end = min(end, f.To)
			}
			return f, end, nil
		}
	}
	return f, 0, b.s.undecided("no such fault is played in this step; add faults: [{wire: %s, is: %s}]", example, kinds[0])
}

// named accepts the wire of that name.
func named(name string) func(string) bool {
	return func(wire string) bool { return wire == name }
}

// isEncoder accepts a wheel's encoder and each of its lines.
func isEncoder(wire string) bool {
	for _, w := range plant.Wheels {
		if wire == w.String() || strings.HasPrefix(wire, w.String()+"_") {
			return true
		}
	}
	return false
}

// isSerial accepts what is neither a receiver channel nor an encoder.
func isSerial(wire string) bool {
	return wire != "steer" && wire != "throttle" && wire != "gain" && !isEncoder(wire)
}

// slack is how long after its time a fault may begin: it does at a tick.
func (e *Evidence) slack() signal.Time { return 2 * max(e.Trace.Tick, signal.Millisecond) }

// lastGood finds the last good pulse or frame on a wire before a fault after
// which there is none; what says what one is called.
func (b *branch) lastGood(list trace.SentTo, what string, f stimulus.Fault, end signal.Time) (onset, error) {
	c := onset{what: "the last good " + what + " of " + f.Wire, end: end}
	found := false
	if b.e.Trace == nil {
		return c, b.s.undecided("the case has no trace")
	}
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

// lastFresh finds the first of the yaw frames that all carry the same value up
// to the end of a fault: the last that told anything.
func (b *branch) lastFresh(f stimulus.Fault, end signal.Time) (onset, error) {
	c := onset{what: "the last frame of " + f.Wire + " with a fresh value", end: end}
	if b.e.Trace == nil {
		return c, b.s.undecided("the case has no trace")
	}
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

// lastEdge returns when an encoder fell silent: at the first tick of the fault,
// its last edge less than a tick before.
func (b *branch) lastEdge(f stimulus.Fault, end signal.Time) (onset, error) {
	if b.e.Trace == nil {
		return onset{}, b.s.undecided("the case has no trace")
	}
	return onset{what: "the last edge of " + f.Wire, at: f.From, uncertainty: b.e.slack(), end: end}, nil
}
