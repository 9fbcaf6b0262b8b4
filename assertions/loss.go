package assertions

import (
	"fmt"
	"math"

	"hilrig/assertions/measure"
	"hilrig/plant"
	"hilrig/plant/portable"
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
	smooth  bool         // the time that smoothing takes comes on top of what is allowed
}

// overWithin judges by the motor that takes longest whether something is over in time after an
// onset and stays so to the end of the stretch.
func (b *branch) overWithin(of *ending, name string, c *onset, limit signal.Time) Result {
	with := ""
	if of.smooth && b.p.Smoothing != nil {
		limit, with = limit+b.smoothing(c), " with smoothing"
	}
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
	failed := fmt.Sprintf("%s still was %s %s after %s; %s are allowed%s", worst.wheel, fmt.Sprintf(of.still, share(worst.value)), worst.low.Short(), c.what, limit.Short(), with)
	if worst.back {
		failed += "; " + of.again
	}
	r = r.explained(failed, fmt.Sprintf("%s between %s and %s after %s, and %s are allowed: the commands stand too far apart%s to tell; %s",
		of.over, worst.low.Short(), worst.high.Short(), c.what, limit.Short(), of.unclear, worst.decides(c, limit)))
	return b.controlled(r, of.control)
}

// smoothing returns how long after an onset what the commands go through on their way out may hold
// up a change: that of the motor which changes most. A filter is followed to half of what counts as
// none, since its last steps may be rounded.
func (b *branch) smoothing(c *onset) signal.Time {
	s := b.p.Smoothing
	if s == nil {
		return 0
	}
	most := 0.0
	for _, w := range plant.Wheels {
		span := measure.RangeOf()
		for _, f := range b.e.Trace.Motor[w].Between(c.at, c.end) {
			if finite(f.Value) {
				span.Include(f.Value)
			}
		}
		if span.High > span.Low {
			most = max(most, span.Width())
		}
	}
	times := portable.Log(max(2*most/b.e.deadShift(), 1))
	return signal.Time(float64(times*float64(s.Filter)) + float64(most*float64(s.FullRangeIn)))
}

// noShiftWithin judges whether every motor is back at what it is commanded with no shift in time and
// stays there to the end of the stretch, and whether there was a shift before, which seen tells.
func (b *branch) noShiftWithin(name string, c *onset, limit signal.Time, seen func(b *branch) error) Result {
	none, known, err := b.noShiftAt()
	if err != nil {
		return unjudged(name, err)
	}
	lasts := func(w plant.Wheel, c *onset) (persistence, error) {
		if err := b.e.stopped(w, c.at, c.end, b.s); err != nil {
			return persistence{}, err
		}
		middle, half := (none[w].Low+none[w].High)/2, none[w].Width()/2
		return c.persistenceOf(b.e.unmoved(b.e.Trace.Motor[w].Between(c.at, c.end), b.s), w, awayFrom(middle, known[w], half+b.e.deadShift())), nil
	}
	return b.overWithin(&ending{
		lasts: lasts, control: func() error { return seen(b) }, until: "with no shift", still: "shifted, at %s,",
		again: "the shift had gone away and came back", over: "the shift went away", unclear: ", or too near the dead shift,", smooth: true,
	}, name, c, limit)
}

// noShiftAt returns what the motors are commanded in the step with no shift, in the order of
// plant.Wheels, and how well that is known. The baseline may be shifted itself: it is on demand as the
// suite takes it, and a firmware that keeps the policy need not have quite that demand.
func (b *branch) noShiftAt() (none [4]Limit, known [4]float64, err error) {
	in := readings{e: b.e}
	var at [4]float64
	for i, w := range plant.Wheels {
		m := in.mean(w, b.base)
		at[i], known[i], none[i] = m.Value, m.Expanded(), measure.RangeOf()
	}
	if in.err != nil {
		return none, known, in.err
	}
	ask := b.e.asPlayed()
	for _, f := range b.e.firmwares() {
		for i, u := range b.unshifted(&f, at, b.s, ask) {
			none[i].Include(u.Low, u.High)
		}
	}
	for i, may := range b.e.mayCut(b.s) {
		if may { // with no shift as well
			none[i].Include(b.e.Lowest)
		}
	}
	for i, most := range b.baselineUncut() {
		if !math.IsInf(most, 0) {
			none[i].Include(most + b.s.Throttle - b.base.Throttle)
		}
	}
	return none, known, nil
}

// mayCut says whose motors traction control may cut in a step, by what is wrong with its encoders too.
func (e *Evidence) mayCut(s *Step) [4]bool {
	played := e.meant(s)
	for i := range played.Silent {
		played.Silent[i], _ = s.encoderFault(i)
	}
	return e.law().MayCut(&played)
}

// awayFrom says of a frame whether it surely, and whether it perhaps lies farther than t from
// a value that is known to ±uncertainty. What is no number counts as away.
func awayFrom(value, uncertainty, t float64) func(f trace.Frame) (surely, perhaps bool) {
	return func(f trace.Frame) (surely, perhaps bool) {
		away := math.Abs(f.Value - value)
		return !(away-f.Uncertainty-uncertainty <= t), !(away+f.Uncertainty+uncertainty <= t)
	}
}
