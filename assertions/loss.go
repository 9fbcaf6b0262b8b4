package assertions

import (
	"fmt"
	"math"

	"hilrig/plant"
	"hilrig/rig/signal"
	"hilrig/rig/trace"
	"hilrig/stimulus"
)

// steerLost, yawLost, yawFrozen and encoderLost judge whether the shift goes
// away in time when that signal is lost.
func (b *branch) steerLost() []Result {
	f, end, err := b.faultOn(named("steer"), "steer", stimulus.Lost)
	return b.afterLoss(*b.p.SteerLost, err, func() (onset, error) { return b.lastGood(trace.SentSteer, "pulse", f, end) })
}

func (b *branch) yawLost() []Result {
	f, end, err := b.faultOn(isSerial, "yaw_serial", stimulus.Lost)
	return b.afterLoss(*b.p.YawLost, err, func() (onset, error) { return b.lastGood(trace.SentYawRate, "frame", f, end) })
}

func (b *branch) yawFrozen() []Result {
	f, end, err := b.faultOn(isSerial, "yaw_serial", stimulus.Stuck)
	return b.afterLoss(*b.p.YawFrozen, err, func() (onset, error) { return b.lastFresh(f, end) })
}

func (b *branch) encoderLost() []Result {
	f, end, err := b.faultOn(isEncoder, "rear_left", stimulus.Lost, stimulus.Stuck)
	return b.afterLoss(*b.p.EncoderLost, err, func() (onset, error) { return b.lastEdge(f, end) })
}

// afterLoss judges what follows on an onset, once that is found.
func (b *branch) afterLoss(limit signal.Time, err error, find func() (onset, error)) []Result {
	name := b.name("no shift within " + span(limit))
	var c onset
	if err == nil {
		c, err = find()
	}
	if err != nil {
		return []Result{unjudged(name, err)}
	}
	return []Result{b.noShiftWithin(name, &c, limit)}
}

// noShiftWithin judges whether every motor is back at its baseline in time and
// stays there to the end of the stretch, and whether there was a shift before.
func (b *branch) noShiftWithin(name string, c *onset, limit signal.Time) Result {
	if err := b.watched(c, limit); err != nil {
		return unjudged(name, err)
	}
	var worst persistence
	for i, w := range plant.Wheels {
		l, err := b.shiftLasts(w, c)
		if err != nil {
			return unjudged(name, err)
		}
		if i == 0 || l.worse(&worst) {
			worst = l
		}
	}
	quantity := fmt.Sprintf("time from %s until %s is back at its baseline", c.what, worst.wheel)
	r := timed(name, quantity, worst.low, worst.high, limit, b.s, worst.at)
	switch r.Verdict {
	case Fail:
		r.Why = fmt.Sprintf("%s still was shifted, at %s, %s after %s; %s are allowed", worst.wheel, share(worst.value), span(worst.low), c.what, span(limit))
		if worst.back {
			r.Why += "; the shift had gone away and came back"
		}
	case Undecided:
		r.Why = fmt.Sprintf("the shift went away between %s and %s after %s, and %s are allowed: the commands stand too far apart, or too near the dead shift, to tell", span(worst.low), span(worst.high), c.what, span(limit))
	case Pass:
		if err := b.shiftBefore(); err != nil {
			return unjudged(name, err)
		}
	}
	return r
}

// shiftLasts measures how long after c a motor is away from its baseline.
func (b *branch) shiftLasts(w plant.Wheel, c *onset) (persistence, error) {
	before, err := b.e.mean(w, b.base)
	if err != nil {
		return persistence{}, err
	}
	if err := b.e.stopped(w, c.at, c.end, b.s); err != nil {
		return persistence{}, err
	}
	rest, uncertainty, t := before.Value+(b.s.Throttle-b.base.Throttle), before.Expanded(), b.e.dead()
	return c.persistenceOf(b.e.unmoved(b.e.Trace.Motor[w].Between(c.at, c.end), b.s), w, func(f trace.Frame) (surely, perhaps bool) {
		away := math.Abs(f.Value - rest)
		// Written so that what is no number counts as away.
		return !(away-f.Uncertainty-uncertainty <= t), !(away+f.Uncertainty+uncertainty <= t)
	}), nil
}
