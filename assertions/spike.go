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

// spike asks how far a yaw frame that leaps for a moment moves any motor.
func (b *branch) spike() []ask {
	if why := b.shiftBeforeVanishes(); why != "" {
		return b.notAsked(why)
	}
	limit := *b.p.Spike
	name := b.name("moves no motor by more than " + share(limit))
	return []ask{asking(name, func(b *branch) Result {
		f, end, err := b.faultOn(isSerial, "yaw_serial", stimulus.Spike)
		var on trace.Sent
		if err == nil {
			on, err = b.spikeOnWire(f, end)
		}
		if err == nil {
			err = b.tooSmall(f, limit)
		}
		if err != nil {
			return unjudged(name, err)
		}
		worst := worstMotor(name, func(w plant.Wheel) (Result, error) { return b.excursion(name, w, on, end, limit) })
		return b.controlled(worst, b.shiftBefore)
	})}
}

// spikeOnWire finds the frame of a spike by its value.
func (b *branch) spikeOnWire(f stimulus.Fault, end signal.Time) (trace.Sent, error) {
	for _, x := range b.e.Trace.SentBetween(trace.SentYawRate, f.From, end) {
		if x.Start >= f.From && x.End < end && math.Abs(x.Value-b.s.YawRate) >= math.Abs(f.By)/2 {
			return x, nil
		}
	}
	return trace.Sent{}, b.s.blockedAt(Undecided, f.From, "no frame of %s carried the spike of %s deg/s; play it where the sensor's range has room for it, and observe on", f.Wire, degrees(f.By))
}

// tooSmall reports a spike that would break no limit if it were believed.
func (b *branch) tooSmall(f stimulus.Fault, limit float64) error {
	at := b.p.ShiftAt
	if at == nil || !(at.Error > 0) || !(at.Gain > 0) {
		return nil
	}
	if believed := at.Is * math.Abs(f.By) / at.Error * b.s.Gain / at.Gain; believed < 2*limit {
		return b.s.undecided("a board that believed the spike would move a motor by %s, and %s are allowed; play a larger spike or raise the gain", share(believed), share(limit))
	}
	return nil
}

// drift returns by how much a motor whose shift may grow with time goes from its mean in a window
// over the length that follows, as it went there.
func (b *branch) drift(w plant.Wheel, held *Step, length signal.Time) (float64, error) {
	first := *held
	first.To -= (held.To - held.From) / 2
	in := readings{e: b.e}
	by := measure.Difference(in.mean(w, lastHalf(held)), in.mean(w, &first))
	window := (held.To - held.From).Seconds()
	return (math.Abs(by.Value) + by.Expanded()) * (1 + 2*length.Seconds()/window), in.err
}

// excursion judges the farthest that a motor went from its mean before the spike.
func (b *branch) excursion(name string, w plant.Wheel, on trace.Sent, end signal.Time, limit float64) (Result, error) {
	held := *b.s
	held.To = on.Start
	if err := b.e.stopped(w, on.Start, end, b.s); err != nil {
		return Result{}, err
	}
	if len(b.e.frames(w, &held)) < fewest {
		return Result{}, b.s.undecided("the spike comes too early in the step for the commands before it to be known; let it come at least 50 ms after the settling")
	}
	mean, err := b.e.mean(w, &held)
	if err != nil {
		return Result{}, err
	}
	if b.remembers() {
		drift, err := b.drift(w, &held, end-on.End)
		if err != nil {
			return Result{}, err
		}
		limit += drift
	}
	before := farthest(b.e.frames(w, &held), measure.RangeOf(mean.Value), b.s)
	if wandered := math.Abs(before.Value - mean.Value); wandered > limit {
		return Result{}, b.s.blockedAt(Undecided, before.End, "%s went by %s from its mean before the spike came, as where the noise of the sensor takes the car from one branch to the other, so that it is not told what the spike moved; play it where the commands stand still", w, share(wandered))
	}
	far := farthest(b.e.Trace.Motor[w].Between(on.End, end), measure.RangeOf(mean.Value), b.s)
	by := math.Abs(far.Value - mean.Value)
	r := magnitude(Result{Name: name, Step: b.s.Name, At: far.End}, "farthest that "+w.String()+" went from its mean", "%", by, far.Uncertainty+mean.Expanded(), limit, percent)
	why := fmt.Sprintf("%s was commanded to %s at %v, %s after a frame that told %s deg/s; its mean before was %s, and %s more or less are allowed",
		w, share(far.Value), far.End, (far.End - on.End).Short(), degrees(on.Value), share(mean.Value), share(limit))
	return r.explained(why, why), nil
}
