package assertions

import (
	"fmt"
	"math"
	"slices"

	"hilrig/assertions/law"
	"hilrig/assertions/measure"
	"hilrig/plant"
	"hilrig/rig/trace"
)

// noWindUp asks of a step in which the yaw rate is back on demand after a long
// time with a motor at its limit: the shift is gone when all that the law looks back at, the
// response, a frame of the slowest wire and what is smoothed, lies behind.
func (b *branch) noWindUp() []ask {
	if at := b.p.ShiftAt; at != nil && at.Grows == law.GrowthIntegrating {
		return b.notAsked("the policy's shift gathers with time while the error lasts, and it does not say how fast it goes away")
	}
	if why := b.otherThrottle(); why != "" {
		return b.notAsked(why)
	}
	d := b.meant(b.s)
	switch {
	case d.missing != "":
		return b.notAsked("the policy has no " + d.missing)
	case d.widest() > sizeUndeclared/2:
		return b.notAsked(fmt.Sprintf("by its tolerances the policy leaves the motors %s of range to be shifted by on demand", share(d.widest())))
	}
	ends := b.ends()
	if why := b.endUndeclared(b.s.Throttle > (ends.Low+ends.High)/2); why != "" {
		return b.notAsked(why)
	}
	name := b.name("shift gone in time")
	long, err := b.longBefore()
	if err == nil && !b.limits(long) {
		return b.notAsked(fmt.Sprintf("by the policy no motor surely comes to its limit in %q, so that nothing can wind up", long.Name))
	}
	return []ask{asking(name, func(b *branch) Result { return b.unwinds(name, long) }).orUnshown(err)}
}

// limits says whether the law surely brings a motor to its limit in a step.
func (b *branch) limits(s *Step) bool {
	at := *b
	at.s = s
	d := at.meant(s)
	return slices.Contains(d.surely[:], true)
}

// unwinds judges that, given the step before.
func (b *branch) unwinds(name string, long *Step) Result {
	if err := b.wasAtLimit(long); err != nil {
		return unjudged(name, err)
	}
	c := onset{what: "the first frame on demand", end: b.s.To}
	if sent := b.e.Trace.SentBetween(trace.SentYawRate, b.s.Applied, math.MaxInt64); len(sent) > 0 {
		c.at = sent[0].End
	}
	if c.at == 0 {
		return unjudged(name, b.s.undecided("no yaw frame went out in this step"))
	}
	h := b.e.history(b.s)
	limit := b.e.firmware(*b.p).law.Horizon(&h)
	v := (&view{}).of(b)
	r := b.overWithin(&ending{
		lasts: func(w plant.Wheel, c *onset) (persistence, error) { return b.awayLasts(v, w, c) }, control: b.shiftBefore, until: "back where it stands on demand", still: "shifted, at %s,",
		again: "the shift had gone away and came back", over: "the shift went away", unclear: ", or too near to where they stand on demand,",
	}, name, &c, limit)
	if r.Measured() && r.Verdict == Fail {
		r.Why += fmt.Sprintf("; before, the error had been held for %s", (long.To - long.Applied).Short())
	}
	return r
}

// awayLasts measures how long after c a motor is away from its command on demand by the law.
func (b *branch) awayLasts(v *view, w plant.Wheel, c *onset) (persistence, error) {
	if err := b.e.stopped(w, c.at, c.end, b.s); err != nil {
		return persistence{}, err
	}
	before, err := b.e.mean(w, b.base)
	if err != nil {
		return persistence{}, err
	}
	t := b.e.deadShift()
	allowed := between(v.from[w]+min(v.shifts[w].Low, -t), v.from[w]+max(v.shifts[w].High, t))
	middle := (allowed.Low + allowed.High) / 2
	return c.persistenceOf(b.e.unmoved(b.e.Trace.Motor[w].Between(c.at, c.end), b.s), w, awayFrom(middle, before.Expanded(), allowed.Width()/2)), nil
}

// longBefore returns the step before, after seeing that it holds an error for long.
func (b *branch) longBefore() (*Step, error) {
	long := b.lastBefore(func(*Step) bool { return true })
	small := math.Abs(b.s.Demand) / 100
	enough := 60 * b.p.Response.AtMost // common practice, no source
	if b.p.DeadBand != nil {
		small = max(small, *b.p.DeadBand)
	}
	switch {
	case long == nil || long.Baseline:
		return nil, b.s.undecided("no step before this one holds a yaw error; add one that does for a second or more")
	case math.Abs(b.yawError()) > small:
		return nil, b.s.undecided("the yaw error is %s deg/s in this step; bring the yaw rate back on demand", degrees(b.yawError()))
	case long.To-long.Applied < enough:
		return nil, long.undecided("%q holds the yaw error for %s, too short for a wind-up; let it be %s", long.Name, (long.To - long.Applied).Short(), enough.Short())
	}
	return long, nil
}

// wasAtLimit reports a step in which no motor was at its limit.
func (b *branch) wasAtLimit(long *Step) error {
	at := *b
	at.s = long
	ends, t := at.ends(), b.e.deadShift()
	for _, w := range plant.Wheels {
		mean, err := b.e.mean(w, long)
		if err != nil {
			return err
		}
		if mean.Value >= ends.High-t || mean.Value <= ends.Low+t {
			return nil
		}
	}
	shifted, err := b.shifted(long)
	return long.absent(err == nil && shifted == measure.Inside && b.asksClearly(long), "no motor is at its limit in %q, so that nothing can wind up; move the throttle nearer to it", long.Name)
}
