package assertions

import (
	"math"
	"slices"

	"hilrig/assertions/measure"
	"hilrig/plant"
	"hilrig/rig/signal"
	"hilrig/rig/trace"
)

// lastQuarter is the share of the time between two changes in which a motor is taken to have
// come to rest, if it ever does.
const lastQuarter = 4

// AnswersEnd tells how long after a change on its wire the answers to it have ended, from a
// step of a few changes that stand far apart: no motor is then farther from where it comes to
// than half of the dead shift, or than what it strays by at rest. moved says whether a motor
// moves with the changes at all, ended whether all came to rest well before the next.
func AnswersEnd(e *Evidence, s *Step) (after signal.Time, moved, ended bool) {
	all := e.changes(s)
	ended = true
	for _, w := range plant.Wheels {
		m, ok := e.movedBy(w, all)
		if !ok || !m.moving() && !m.restless() {
			continue
		}
		moved = true
		for i := range all {
			c := &all[i]
			took := e.endOf(w, c)
			after = max(after, took)
			ended = ended && took < (c.until-c.sent)*(lastQuarter-1)/lastQuarter
		}
	}
	return after, moved, ended
}

// endOf returns how long after a change a motor was last away from where it comes to, for two
// frames that follow on each other.
func (e *Evidence) endOf(w plant.Wheel, c *change) signal.Time {
	frames := e.Trace.Motor[w].Between(c.sent+1, c.until)
	rest := frames[firstFrom(frames, c.until-(c.until-c.sent)/lastQuarter):]
	if len(rest) < leaveFrames {
		return 0
	}
	level, by := e.atRest(rest)
	frames = slices.Concat(e.lastFrames(w, c.sent, 1), frames)
	for i := len(frames) - 1; i > 0; i-- {
		if math.Abs(frames[i].Value-level) > by && math.Abs(frames[i-1].Value-level) > by {
			return frames[i].End - c.sent
		}
	}
	return 0
}

// atRest returns where frames stand, and how far one has to be from there to be away.
func (e *Evidence) atRest(frames []trace.Frame) (level, by float64) {
	values := valuesOf(frames)
	level = median(slices.Clone(values))
	for i := range values {
		values[i] = math.Abs(values[i] - level)
	}
	slices.Sort(values)
	return level, max(e.deadShift()/2, strayRoom*measure.Quantile(values, strayShare))
}
