package assertions

import (
	"fmt"

	"hilrig/plant"
	"hilrig/rig/signal"
	"hilrig/rig/trace"
	"hilrig/stimulus"
)

// stillBefore is how far a motor may go from its mean and still stand before a bad pulse; the check's own definition.
const stillBefore = 0.05

// badPulse asks whether a pulse of the receiver that is too short or too long to stand for anything leaves the motors
// where they were. One of the throttle moves them whether there is a shift or not; one of another channel moves the shift, which
// has to be there.
func (b *branch) badPulse() []ask {
	control := (*branch).shiftBefore
	if faulty(named("throttle"), stimulus.BadPulse)(b.s.Faults) {
		control = (*branch).drivenBefore
	} else if why := b.shiftBeforeVanishes(); why != "" {
		return b.notAsked(why)
	}
	name := b.name("leaves the motors where they were")
	return []ask{asking(name, func(b *branch) Result {
		f, end, err := b.faultOn(isReceiver, "steer", stimulus.BadPulse)
		var on trace.Sent
		if err == nil {
			on, err = b.badOnWire(f, end)
		}
		if err != nil {
			return unjudged(name, err)
		}
		none := b.e.deadShift()
		x := excursion{
			name: name, what: "the bad pulse", key: "the policy's dead_shift", told: fmt.Sprintf("a pulse of %s that was %s wide", f.Wire, (on.End - on.Start).Short()),
			on: on, end: end, limit: none, still: max(plainly*none, stillBefore), byItself: true,
		}
		worst := worstMotor(name, func(w plant.Wheel) (Result, error) { return x.of(b, w) })
		return b.controlled(worst, func() error { return control(b) })
	})}
}

// badOnWire finds the bad pulse.
func (b *branch) badOnWire(f stimulus.Fault, end signal.Time) (trace.Sent, error) {
	list := map[string]trace.SentTo{"steer": trace.SentSteer, "throttle": trace.SentThrottle, "gain": trace.SentGain}[f.Wire]
	for _, x := range b.e.Trace.SentBetween(list, f.From, end) {
		if x.Bad && x.Start >= f.From && x.End < end {
			return x, nil
		}
	}
	return trace.Sent{}, b.s.blockedAt(Undecided, f.From, "no pulse of %s was bad in this step; %s", f.Wire, b.e.longer())
}
