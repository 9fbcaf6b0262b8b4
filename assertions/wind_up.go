package assertions

import (
	"fmt"
	"math"

	"hilrig/assertions/measure"
	"hilrig/plant"
	"hilrig/rig/signal"
	"hilrig/rig/trace"
)

// noWindUp asks of a step in which the yaw rate is back on demand after a long
// time with a motor at its limit: the shift is gone within three times the
// declared response (common practice, no source: the shift has farther to go
// than the first change that the response is counted by).
func (b *branch) noWindUp() []ask {
	limit := 3 * b.p.Response.AtMost
	name := b.name("shift gone within " + limit.Short())
	long, err := b.longBefore(limit)
	return []ask{asking(name, func(b *branch) Result { return b.unwinds(name, limit, long) }).orUnshown(err)}
}

// unwinds judges that, given the step before.
func (b *branch) unwinds(name string, limit signal.Time, long *Step) Result {
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
	r := b.noShiftWithin(name, &c, limit)
	if r.Measured() && r.Verdict == Fail {
		r.Why += fmt.Sprintf("; before, the error had been held for %s", (long.To - long.Applied).Short())
	}
	return r
}

// longBefore returns the step before, after seeing that it holds an error for long.
func (b *branch) longBefore(limit signal.Time) (*Step, error) {
	long := b.lastBefore(func(*Step) bool { return true })
	small := math.Abs(b.s.Demand) / 100
	if b.p.DeadBand != nil {
		small = max(small, *b.p.DeadBand)
	}
	switch {
	case long == nil || long.Baseline:
		return nil, b.s.undecided("no step before this one holds a yaw error; add one that does for a second or more")
	case math.Abs(b.yawError()) > small:
		return nil, b.s.undecided("the yaw error is %s deg/s in this step; bring the yaw rate back on demand", degrees(b.yawError()))
	case long.To-long.Applied < 20*limit:
		return nil, long.undecided("%q holds the yaw error for %s, too short for a wind-up; let it be %s", long.Name, (long.To - long.Applied).Short(), (20 * limit).Short())
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
	return long.absent(err == nil && shifted == measure.Inside && splitFor(b.p, long) != nil, "no motor is at its limit in %q, so that nothing can wind up; move the throttle nearer to it", long.Name)
}
