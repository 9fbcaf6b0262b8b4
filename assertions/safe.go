package assertions

import (
	"hilrig/assertions/law"
	"hilrig/plant"
	"hilrig/rig/signal"
	"hilrig/rig/trace"
)

// safeWithin asks whether every motor goes to the safe state in time after a loss, and stays
// there to the end of the step.
func (b *branch) safeWithin(k *lossKind, limit signal.Time) ask {
	name := b.name("idle within " + limit.Short())
	if b.p.SafeState == law.OutputsSilent {
		name = b.name("silent within " + limit.Short())
	}
	return b.since(k, name, func(b *branch, name string, c *onset) Result { return b.safeAfter(name, c, limit) }).of(k.key, "safe_state")
}

// safeAfter judges whether every motor is in the safe state in time after an onset.
func (b *branch) safeAfter(name string, c *onset, limit signal.Time) Result {
	return b.overWithin(&ending{
		lasts: b.driveLasts, control: b.drivenBefore, until: "safe", still: "commanded to %s",
		again: "it had been at idle and was driven again", over: "the drive ended", smooth: true,
	}, name, c, limit)
}

// drivenBefore is the positive control: the step before was driven.
func (b *branch) drivenBefore() error {
	before := b.lastBefore((*Step).sound)
	if before == nil {
		return b.s.undecided("the case has no step before this one in which the motors could be seen driven; add one")
	}
	return b.drivenIn(before)
}

// driveLasts measures how long after c a motor is not in the policy's safe
// state. Where the policy names none, idle and silence are both safe.
func (b *branch) driveLasts(w plant.Wheel, c *onset) (persistence, error) {
	frames := b.e.Trace.Motor[w].Between(c.at, c.end)
	usual := b.e.recentSpacing(w, c.at)
	if usual == 0 {
		return persistence{}, b.e.silent(w, b.s) // none before the loss either
	}
	if b.p.SafeState == law.OutputsIdle {
		if err := b.e.stopped(w, c.at, c.end, b.s); err != nil {
			return persistence{}, err
		}
	}
	wrong := awayFrom(0, 0, b.e.deadShift())
	if b.p.SafeState == law.OutputsSilent {
		wrong = func(trace.Frame) (surely, perhaps bool) { return true, true }
	}
	l := c.persistenceOf(b.e.unmoved(frames, b.s), w, wrong)
	if n := len(frames); b.p.SafeState != law.OutputsIdle && (n == 0 || c.end-frames[n-1].End > quiet*usual) {
		// Silent at the end: so from when the next frame should have come.
		last := c.at
		if n > 0 {
			last = frames[n-1].End
		}
		l.high = min(l.high, last-c.at+usual+c.uncertainty)
	}
	return l, nil
}
