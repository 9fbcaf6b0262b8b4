package assertions

import (
	"fmt"

	"hilrig/assertions/law"
	"hilrig/assertions/measure"
	"hilrig/rig/signal"
)

// judge returns one result for each motor.
func (c Shifted) judge(e *Evidence) []Result {
	s, base, err := e.stepAndBaseline(c.Step)
	return eachMotor("motors "+string(c.Is), c.Motors, s, err, func(corner law.Corner) Result {
		return e.moved(string(corner)+" "+string(c.Is), corner, c.Is, s, base)
	})
}

// limitOf returns what a shift in that sense has to keep, t being the shift
// that counts as none.
func limitOf(is Sense, t float64) (Limit, bool) {
	switch is {
	case Raised:
		return AtLeast(t), true
	case Lowered:
		return AtMost(-t), true
	case Unchanged:
		return measure.Within(0, t), true
	}
	return Limit{}, false
}

// moved judges one motor's sense of shift.
func (e *Evidence) moved(name string, corner law.Corner, is Sense, s, base *Step) Result {
	t := e.deadShift()
	limit, ok := limitOf(is, t)
	if !ok {
		return unjudged(name, s.undecided("%q is no sense of a shift; use raised, lowered or unchanged", is))
	}
	w, err := e.wheel(corner, s)
	if err != nil && is == Unchanged {
		if _, known := corner.Wheel(0); known {
			err = nil // with no turn, what has to stay stays on either side
		}
	}
	var est measure.Estimate
	if err == nil {
		est, err = e.shift(w, s, base)
	}
	r := found(name, "shift of "+called(corner, w), est, err, limit, s)
	return r.explained(fmt.Sprintf("%s should have been %s, but %s: its mean moved by %s ± %s of range from the baseline, and less than %s counts as none",
		called(corner, w), is, went(est, t), share(est.Value), share(est.Expanded()), share(t)),
		e.remedy(est, limit, shorter(s, base), percent, " %"))
}

// went says in words what a shift did.
func went(est measure.Estimate, t float64) string {
	i := est.Interval()
	switch {
	case i.Low > t:
		return "was raised"
	case i.High < -t:
		return "was lowered"
	}
	return "did not move that way"
}

// shorter returns the shorter of two steps' windows.
func shorter(a, b *Step) signal.Time { return min(a.To-a.From, b.To-b.From) }
