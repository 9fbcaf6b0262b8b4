package assertions

import (
	"fmt"
	"math"

	"hilrig/assertions/measure"
	"hilrig/plant"
	"hilrig/rig/signal"
	"hilrig/rig/trace"
	"hilrig/stimulus"
)

// stillBefore is how far a motor may go from its mean and still stand before a bad pulse; the check's own definition.
const stillBefore = 0.05

// badPulse asks whether a pulse of the receiver that is too short or too long to stand for anything leaves the motors
// where they were.
func (b *branch) badPulse() []ask {
	if why := b.shiftBeforeVanishes(); why != "" {
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
		worst := worstMotor(name, func(w plant.Wheel) (Result, error) { return b.strays(name, w, f, on, end) })
		return b.controlled(worst, b.shiftBefore)
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
	return trace.Sent{}, b.s.blockedAt(Undecided, f.From, "no pulse of %s was bad in this step; observe on", f.Wire)
}

// strays judges how far a motor went from its mean before a bad pulse: no farther than the shift that counts as none, and
// than it had gone by itself.
func (b *branch) strays(name string, w plant.Wheel, f stimulus.Fault, on trace.Sent, end signal.Time) (Result, error) {
	held := *b.s
	held.To = on.Start
	if err := b.e.stopped(w, on.Start, end, b.s); err != nil {
		return Result{}, err
	}
	if len(b.e.frames(w, &held)) < fewest {
		return Result{}, b.s.undecided("the bad pulse comes too early in the step for the commands before it to be known; let it come at least 50 ms after the settling")
	}
	mean, err := b.e.mean(w, &held)
	if err != nil {
		return Result{}, err
	}
	before := farthest(b.e.frames(w, &held), measure.RangeOf(mean.Value), b.s)
	wandered := math.Abs(before.Value - mean.Value)
	if wandered > max(plainly*b.e.deadShift(), stillBefore) {
		return Result{}, b.s.blockedAt(Undecided, before.End, "%s went by %s from its mean before the pulse came, so that it is not told what the pulse moved; play it where the commands stand still", w, share(wandered))
	}
	limit := b.e.deadShift() + wandered
	if b.remembers() {
		drift, err := b.drift(w, &held, end-on.End)
		if err != nil {
			return Result{}, err
		}
		limit += drift
	}
	far := farthest(b.e.Trace.Motor[w].Between(on.End, end), measure.RangeOf(mean.Value), b.s)
	r := magnitude(Result{Name: name, Step: b.s.Name, At: far.End}, "farthest that "+w.String()+" went from its mean", "%", math.Abs(far.Value-mean.Value), far.Uncertainty+mean.Expanded(), limit, percent)
	why := fmt.Sprintf("%s was commanded to %s at %v, %s after a pulse of %s that was %s wide; its mean before was %s, and %s more or less are allowed",
		w, share(far.Value), far.End, (far.End - on.End).Short(), f.Wire, (on.End - on.Start).Short(), share(mean.Value), share(limit))
	return r.explained(why, why), nil
}
