package assertions

import (
	"fmt"
	"math"

	"hilrig/plant"
	"hilrig/rig/signal"
	"hilrig/rig/trace"
)

// ending is something that has to be over in time on all motors.
type ending struct {
	lasts   func(w plant.Wheel, c *onset) (persistence, error)
	control func() error // that it was there before
	until   string       // a motor's state when it is over
	still   string       // what a motor still was, with its command
	again   string       // that it had been over and came back
	over    string       // that it ended
	unclear string       // why it cannot be told when
}

// overWithin judges by the motor that takes longest whether something is over in time after an
// onset and stays so to the end of the stretch.
func (b *branch) overWithin(of *ending, name string, c *onset, limit signal.Time) Result {
	if err := b.watched(c, limit); err != nil {
		return unjudged(name, err)
	}
	var worst persistence
	for i, w := range plant.Wheels {
		l, err := of.lasts(w, c)
		if err != nil {
			return unjudged(name, err)
		}
		if i == 0 || l.worse(&worst) {
			worst = l
		}
	}
	r := timed(name, fmt.Sprintf("time from %s until %s is %s", c.what, worst.wheel, of.until), worst.low, worst.high, limit, b.s, worst.at)
	failed := fmt.Sprintf("%s still was %s %s after %s; %s are allowed", worst.wheel, fmt.Sprintf(of.still, share(worst.value)), worst.low.Short(), c.what, limit.Short())
	if worst.back {
		failed += "; " + of.again
	}
	r = r.explained(failed, fmt.Sprintf("%s between %s and %s after %s, and %s are allowed: the commands stand too far apart%s to tell",
		of.over, worst.low.Short(), worst.high.Short(), c.what, limit.Short(), of.unclear))
	return b.controlled(r, of.control)
}

// noShiftWithin judges whether every motor is back at its baseline in time and
// stays there to the end of the stretch, and whether there was a shift before.
func (b *branch) noShiftWithin(name string, c *onset, limit signal.Time) Result {
	return b.overWithin(&ending{
		lasts: b.shiftLasts, control: b.shiftBefore, until: "back at its baseline", still: "shifted, at %s,",
		again: "the shift had gone away and came back", over: "the shift went away", unclear: ", or too near the dead shift,",
	}, name, c, limit)
}

// shiftLasts measures how long after c a motor is away from its baseline.
func (b *branch) shiftLasts(w plant.Wheel, c *onset) (persistence, error) {
	before, err := b.e.mean(w, b.base)
	if err == nil {
		err = b.e.stopped(w, c.at, c.end, b.s)
	}
	if err != nil {
		return persistence{}, err
	}
	baseline, uncertainty, t := before.Value+(b.s.Throttle-b.base.Throttle), before.Expanded(), b.e.deadShift()
	return c.persistenceOf(b.e.unmoved(b.e.Trace.Motor[w].Between(c.at, c.end), b.s), w, awayFrom(baseline, uncertainty, t)), nil
}

// awayFrom says of a frame whether it surely, and whether it perhaps lies farther than t from
// a value that is known to ±uncertainty. What is no number counts as away.
func awayFrom(value, uncertainty, t float64) func(f trace.Frame) (surely, perhaps bool) {
	return func(f trace.Frame) (surely, perhaps bool) {
		away := math.Abs(f.Value - value)
		return !(away-f.Uncertainty-uncertainty <= t), !(away+f.Uncertainty+uncertainty <= t)
	}
}
