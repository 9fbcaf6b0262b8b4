package assertions

import (
	"fmt"
	"math"

	"hilrig/assertions/law"
	"hilrig/assertions/measure"
	"hilrig/plant"
)

// judge returns one result for each motor.
func (c Scaled) judge(e *Evidence) []Result {
	s, base, err := e.stepAndBaseline(c.Step)
	of := s
	if err == nil && len(c.Motors) > 0 {
		of, err = e.step(c.Of)
	}
	return eachMotor("shift scales", c.Motors, s, err, func(corner law.Corner) Result { return c.motor(e, corner, s, of, base) })
}

// motor judges the ratio of one motor's shifts.
func (c Scaled) motor(e *Evidence, corner law.Corner, s, of, base *Step) Result {
	name := fmt.Sprintf("%s shifts %s times as far", corner, number(c.Times))
	in := readings{e: e}
	over, under := in.part(corner, s, base), in.part(corner, of, base)
	if in.err != nil {
		return unjudged(name, in.err)
	}
	t := e.deadShift()
	divisor := measure.Difference(under.now, under.before)
	if r, ok := e.hardlyShifted(name, corner, divisor, t, of, base); ok {
		return r
	}
	est := ratio(over, under, divisor.Value)
	allowed := math.Abs(c.Times) * c.Within
	limit := measure.Within(c.Times, allowed)
	r := estimated(Result{Name: name, Step: s.Name, At: s.From}, fmt.Sprintf("shift of %s in %q over that in %q", corner, s.Name, of.Name), "times", est, limit, 1)
	return r.explained(fmt.Sprintf("the shift of %s in %q is %s ± %s times that in %q; it should be %s times, within %s of that", corner, s.Name, number(est.Value), number(est.Expanded()), of.Name, number(c.Times), share(c.Within)),
		e.remedy(est, limit, min(shorter(s, of), base.To-base.From), 1, " times"))
}

// hardlyShifted returns a result where the shift that is divided by has not clearly
// left the dead zone.
func (e *Evidence) hardlyShifted(name string, corner law.Corner, divisor measure.Estimate, t float64, of, base *Step) (Result, bool) {
	switch divisor.Interval().Against(measure.Within(0, t)) {
	case measure.Outside:
		return Result{}, false
	case measure.Inside:
		return unjudged(name, of.fails("the shift never moved: %s shifts by %s ± %s in %q, and less than %s counts as none", corner, share(divisor.Value), share(divisor.Expanded()), of.Name, share(t))), true
	}
	return unjudged(name, of.undecided("the shift of %s in %q is not clearly more than none: %s", corner, of.Name, e.remedy(divisor, measure.Within(0, t), shorter(of, base), percent, " %"))), true
}

// part is one side of a ratio of shifts, taken apart: the two share their
// baseline, and so its error, where they are of one wheel.
type part struct {
	now, before measure.Estimate
	wheel       plant.Wheel
}

func (r *readings) part(corner law.Corner, s, base *Step) part {
	w := r.wheel(corner, s)
	before := r.mean(w, base)
	return part{r.mean(w, s), before, w}
}

// ratio estimates over / under by first-order propagation.
func ratio(over, under part, divisor float64) measure.Estimate {
	r := (over.now.Value - over.before.Value) / divisor
	terms := []measure.Term{{Of: over.now, Slope: 1 / divisor}, {Of: under.now, Slope: -r / divisor}}
	if over.wheel == under.wheel {
		terms = append(terms, measure.Term{Of: over.before, Slope: (r - 1) / divisor})
	} else {
		terms = append(terms, measure.Term{Of: over.before, Slope: -1 / divisor}, measure.Term{Of: under.before, Slope: r / divisor})
	}
	return measure.Combine(r, terms...)
}
