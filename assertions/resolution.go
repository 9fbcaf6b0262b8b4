package assertions

import (
	"fmt"
	"math"

	"hilrig/assertions/law"
	"hilrig/plant"
	"hilrig/rig/signal"
	"hilrig/rig/trace"
)

// resolution asks for the steps in which commands follow a quantity that is
// swept slowly: the largest from one command to the next, of the motors that
// move at all. A command that is coarser than the sweep shows its steps.
func (b *branch) resolution() []ask {
	limit := *b.p.Resolution
	name := b.name("commands in steps of at most " + share(limit))
	var err error
	if !b.s.Swept && !b.s.Moving {
		err = b.s.undecided("nothing is swept in this step; write sweep: {throttle: [20 %%, 80 %%]} and observe for some seconds")
	}
	noisy := b.s.Gain > 0
	if d := b.meant(b.s); noisy && (d.missing != "" || !sized(b.p)) {
		return b.notAsked(fmt.Sprintf("the gain stands at %s, and the policy does not say how far the noise of the yaw rate then moves the motors; hold a gain of 0 %%", share(b.s.Gain)))
	}
	return []ask{asking(name, func(b *branch) Result { return b.fine(name, limit) }).orUnshown(err)}
}

// fine judges the largest step of a motor's commands. Where the throttle's own steps are nearly as large, a larger step
// than the limit may be the throttle's; that all steps keep the limit shows fine commands all the same.
func (b *branch) fine(name string, limit float64) Result {
	moved, within, tooFast := 0.0, "", b.slowSweep(limit)
	if spread := b.spreads(limit); spread > 0 {
		within = ", and within the " + spread.Short() + " over which the policy's smoothing spreads a step"
	}
	worst := worstMotor(name, func(w plant.Wheel) (Result, error) {
		frames, err := b.e.enough(w, b.s)
		if err != nil {
			return Result{}, err
		}
		moved = max(moved, rangeOf(frames).Width())
		if err := b.e.outOfRange(law.Corner(w.String()), w, between(0, 1), b.s); err != nil {
			return Result{}, err
		}
		j, moves := b.farthestStep(w, frames, limit, b.inputsMove())
		r := magnitude(Result{Name: name, Step: b.s.Name, At: j.to.End}, "largest step of "+w.String(), "%", j.by, j.uncertainty, limit+moves, percent)
		if tooFast != nil && r.Verdict != Fail {
			j, moves = b.farthestStep(w, frames, limit, movesNothing)
			r = magnitude(Result{Name: name, Step: b.s.Name, At: j.to.End}, "largest step of "+w.String(), "%", j.by, j.uncertainty, limit, percent)
			if r.Verdict != Pass {
				return Result{}, tooFast
			}
		}
		why := fmt.Sprintf("%s jumped from %s to %s at %v; %s are allowed from one command to the next%s, with %s by which what went out may move it", w, share(j.from), share(j.to.Value), j.to.End, share(limit+moves), within, share(moves))
		return r.tooNear(why, "the policy's resolution"), nil
	})
	if moved < 8*limit && worst.Verdict == Pass {
		asked := b.s.Changed == trace.Throttle || b.asksClearly(b.s)
		return unjudged(name, b.s.absent(asked, "no command moved by more than %s in the sweep, so that its steps cannot be seen", share(moved)))
	}
	if worst.Measured() && worst.Verdict != Pass {
		worst.Why += "; the sweep itself goes in smaller steps"
	}
	return worst
}

// inputsMoving says by how much what goes out on the wires may move a motor from one time to another.
type inputsMoving func(w plant.Wheel, from, to signal.Time) float64

// movesNothing has all that a command goes by be a step of its own.
func movesNothing(plant.Wheel, signal.Time, signal.Time) float64 { return 0 }

// inputsMove returns by how much what goes out on the wires may move a motor from one command to the next:
// what the law of the declared numbers, with no tolerances, leaves between the least and the most, and as
// much more as the size's tolerance. While the gain stands at 0 no shift moves a motor.
func (b *branch) inputsMove() inputsMoving {
	p := *b.p
	within := 0.0
	switch {
	case b.s.Gain == 0 && b.s.Changed != trace.Gain && !b.s.Moving:
		p.ShiftAt = &law.ShiftAt{Error: 1, Gain: 1} // none; what a shift gathered before stays as it is, or fades
	case p.ShiftAt != nil:
		at := *p.ShiftAt
		within, at.Within = at.Within, 0
		p.ShiftAt = &at
	}
	if p.Demand != nil {
		p = outBy(&p, 1, p.Demand.SpeedFrom)
	}
	h := b.e.historyHeld(b.s)
	if h.SteerOpen, h.Curve = 0, b.e.Curve; h.Curve == nil {
		h.Curve = law.Identity()
	}
	l := b.e.firmware(p).bare
	envelope := l.Envelope(&h, l.Horizon(&h)).Exact()
	return func(w plant.Wheel, from, to signal.Time) float64 {
		a, ok := envelope.Within(from, to)
		if !ok {
			return 0
		}
		return a.Commands[w].Width() * (1 + within)
	}
}

// farthestStep returns the step of a motor's commands that goes farthest past the limit with what its inputs
// move it by, and that. Where the declared smoothing spreads a step over several commands, it is looked for from each
// command to those that follow within that time: fine commands are no farther apart there than a step and what
// their inputs move them by.
func (b *branch) farthestStep(w plant.Wheel, frames []trace.Frame, limit float64, inputs inputsMoving) (worst jump, moves float64) {
	past, spread := math.Inf(-1), b.spreads(limit)
	behind := spread
	if behind > 0 {
		behind -= b.p.Smoothing.Filter // a filter's command is behind its inputs by one time constant; two are taken
	}
	for i := range frames[:len(frames)-1] {
		for k := i + 1; k < len(frames) && (k == i+1 || frames[k].End-frames[i].End <= spread); k++ {
			one := jumpOf([]trace.Frame{frames[i], frames[k]})
			if one.by <= past { // what the inputs move only takes from it
				continue
			}
			since := frames[i].End
			if k > i+1 {
				since -= behind
			}
			by := inputs(w, since, frames[k].End)
			if x := one.by - by; !(x <= past) && !math.IsNaN(past) {
				worst, moves, past = one, by, x
			}
		}
	}
	return worst, moves
}

// spreads returns over what time the declared smoothing spreads a step of nearly twice a limit: a slew limit for as long as it
// takes through that, a filter to the twentieth part in three time constants.
func (b *branch) spreads(limit float64) signal.Time {
	s := b.p.Smoothing
	if s == nil {
		return 0
	}
	return signal.Time(2*limit*float64(s.FullRangeIn)) + 3*s.Filter
}

// sameStep is up to how many times the receiver's own step one of the throttle counts as one of those.
const sameStep = 1.01

// slowSweep reports a step in which the throttle is swept so fast, or its receiver's own steps are so coarse, that they look like
// the board's. Where the receiver has no finer steps, which nobody can sweep slower than, the commands are held to the limit
// beside what these move them by.
func (b *branch) slowSweep(limit float64) error {
	most, _, _ := b.throttleSteps()
	if most > limit/2 && most > sameStep*b.e.ThrottleStep {
		return b.s.undecided("the throttle itself goes in steps of %s, and a command by more than %s may follow them; sweep slower, so that they are at most %s, or where the receiver has no finer steps declare a resolution of %s or more",
			share(most), share(limit), share(limit/2), share(2*most))
	}
	return nil
}
