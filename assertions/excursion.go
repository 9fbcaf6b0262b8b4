package assertions

import (
	"fmt"
	"math"

	"hilrig/assertions/measure"
	"hilrig/plant"
	"hilrig/rig/signal"
	"hilrig/rig/trace"
)

// excursion is how far something that went out for a moment, and is no value, moves a motor.
type excursion struct {
	name     string
	what     string // "the spike"
	key      string // of the policy, that says how far a motor may go: "the policy's spike"
	told     string // "a frame that told 400 deg/s"
	on       trace.Sent
	end      signal.Time // of what is looked at behind it
	limit    float64     // farthest that a motor may go from its mean before, share of range
	still    float64     // farthest that it may have gone before and still stand
	byItself bool        // it may go as far on top as it went before
}

// of judges the farthest that a motor went from its mean before.
func (x *excursion) of(b *branch, w plant.Wheel) (Result, error) {
	held := *b.s
	held.To = x.on.Start
	if err := b.e.stopped(w, x.on.Start, x.end, b.s); err != nil {
		return Result{}, err
	}
	if len(b.e.frames(w, &held)) < fewest {
		return Result{}, b.s.undecided("%s comes too early in the step for the commands before it to be known; let it come at least 50 ms after the settling", x.what)
	}
	mean, err := b.e.mean(w, &held)
	if err != nil {
		return Result{}, err
	}
	drift := 0.0
	if b.remembers() {
		if drift, err = b.drift(w, &held, x.end-x.on.End); err != nil {
			return Result{}, err
		}
	}
	before := farthest(b.e.frames(w, &held), measure.RangeOf(mean.Value), b.s)
	wandered := math.Abs(before.Value - mean.Value)
	if wandered > x.still+drift {
		return Result{}, b.s.blockedAt(Undecided, before.End, "%s went by %s from its mean before %s came, as where the noise of a sensor takes the car from one branch to the other, so that it is not told what that moved; %s", w, share(wandered), x.what, b.e.orCopy("play it where the commands stand still", "that plays it where the commands stand still"))
	}
	known := mean.Expanded()
	if b.remembers() { // what grows makes its mean uncertain, and all of it lay no farther from that than it wandered
		known = min(known, wandered+before.Uncertainty)
	}
	limit := x.limit + drift
	if x.byItself {
		limit += wandered
	}
	far := farthest(b.e.Trace.Motor[w].Between(x.on.End, x.end), measure.RangeOf(mean.Value), b.s)
	r := magnitude(Result{Name: x.name, Step: b.s.Name, At: far.End}, "farthest that "+w.String()+" went from its mean", "%", math.Abs(far.Value-mean.Value), far.Uncertainty+known, limit, percent)
	why := fmt.Sprintf("%s was commanded to %s at %v, %s after %s; its mean before was %s, and %s more or less are allowed",
		w, share(far.Value), far.End, (far.End - x.on.End).Short(), x.told, share(mean.Value), share(limit))
	return r.explained(why, why+"; "+x.decides(b, &r, known, far.Uncertainty+2*mean.Systematic)), nil
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
