package assertions

import (
	"fmt"
	"math"

	"hilrig/assertions/law"
	"hilrig/plant"
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

// fine judges the largest step of a motor's commands.
func (b *branch) fine(name string, limit float64) Result {
	if err := b.slowSweep(limit); err != nil {
		return unjudged(name, err)
	}
	moved := 0.0
	worst := worstMotor(name, func(w plant.Wheel) (Result, error) {
		frames, err := b.e.enough(w, b.s)
		if err != nil {
			return Result{}, err
		}
		moved = max(moved, rangeOf(frames).Width())
		r := b.e.jumps(name, law.Corner(w.String()), limit+b.yawNoise(), b.s)
		if r.Measured() {
			r.measured.Quantity = "largest step of " + w.String()
		}
		return r, nil
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

// yawNoise returns by how much the noise of the yaw rate on the wire may move a motor from one
// command to the next, at the step's gain and the declared size.
func (b *branch) yawNoise() float64 {
	if !(b.s.Gain > 0) || !sized(b.p) {
		return 0
	}
	leap, last, n := 0.0, 0.0, 0
	for _, x := range b.e.Trace.SentBetween(trace.SentYawRate, b.s.From, b.s.To) {
		if n++; n > 1 && !x.Bad {
			leap = max(leap, math.Abs(x.Value-last))
		}
		last = x.Value
	}
	at := b.p.ShiftAt
	return 2 * leap * at.Is * (1 + at.Within) / at.Error * b.s.Gain / at.Gain // and a command may rest on two frames more than the one before
}

// slowSweep reports a step in which the throttle is swept so fast that its own steps would be taken for the board's.
func (b *branch) slowSweep(limit float64) error {
	most, _, _ := b.throttleSteps()
	if most > limit/2 {
		return b.s.undecided("the throttle itself goes in steps of %s; sweep slower, so that they are at most %s", share(most), share(limit/2))
	}
	return nil
}
