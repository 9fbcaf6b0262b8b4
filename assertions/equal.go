package assertions

import (
	"cmp"
	"fmt"

	"hilrig/assertions/law"
	"hilrig/assertions/measure"
	"hilrig/plant"
)

// judge returns one result.
func (c Equal) judge(e *Evidence) []Result {
	name := list(c.Motors) + " equal"
	s, err := e.step(c.Step)
	if err != nil {
		return []Result{unjudged(name, err)}
	}
	return []Result{e.equal(name, c.Motors, c.Within, s)}
}

// equal judges whether the means of motors stand within each other's reach;
// within 0 is the shift that counts as none.
func (e *Evidence) equal(name string, motors []law.Corner, within float64, s *Step) Result {
	within = cmp.Or(within, e.deadShift())
	if len(motors) < 2 {
		return unjudged(name, s.undecided("the check compares motors; name at least two"))
	}
	var least, most measure.Estimate
	var lowest, highest string
	var low, high plant.Wheel
	in := readings{e: e}
	for i, corner := range motors {
		w := in.wheel(corner, s)
		est := in.mean(w, s)
		// Written so that what is no number is taken up and not passed over.
		if i == 0 || !(est.Value >= least.Value) {
			least, lowest, low = est, called(corner, w), w
		}
		if i == 0 || !(est.Value <= most.Value) {
			most, highest, high = est, called(corner, w), w
		}
	}
	est, limit := measure.Difference(most, least), AtMost(within)
	if in.err == nil && low != high {
		est = e.apart(high, low, s, est)
	}
	r := found(name, "largest difference between "+list(motors), est, in.err, limit, s)
	return r.explained(fmt.Sprintf("%s stands %s ± %s of range above %s; %s is allowed", highest, share(est.Value), share(est.Expanded()), lowest, share(within)),
		e.remedy(est, limit, s.To-s.From, percent, " %"))
}

// apart returns the difference of two motors' means with the spread that commands at one time have: what moves both
// motors alike, as the throttle does, does not spread it, and where one goes to and fro by one of the firmware's own steps,
// however slowly, the mean lies between.
func (e *Evidence) apart(high, low plant.Wheel, s *Step, of measure.Estimate) measure.Estimate {
	a, b := withoutUncertain(e.frames(high, s)), withoutUncertain(e.frames(low, s))
	differences := make([]float64, len(a))
	at := 0
	for k, f := range a {
		at = nearestFrom(b, at, f.End)
		differences[k] = f.Value - b[at].Value
	}
	together := measure.MeanOf(batched(differences), of.Systematic).OfCoarse(differences, e.CommandStep, e.coarse())
	together.Value = of.Value
	return together
}
