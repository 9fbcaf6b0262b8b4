package assertions

import (
	"cmp"
	"fmt"

	"hilrig/assertions/law"
	"hilrig/assertions/measure"
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
	in := readings{e: e}
	for i, corner := range motors {
		w := in.wheel(corner, s)
		est := in.mean(w, s)
		// Written so that what is no number is taken up and not passed over.
		if i == 0 || !(est.Value >= least.Value) {
			least, lowest = est, called(corner, w)
		}
		if i == 0 || !(est.Value <= most.Value) {
			most, highest = est, called(corner, w)
		}
	}
	est, limit := measure.Difference(most, least), AtMost(within)
	r := found(name, "largest difference between "+list(motors), est, in.err, limit, s)
	return r.explained(fmt.Sprintf("%s stands %s ± %s of range above %s; %s is allowed", highest, share(est.Value), share(est.Expanded()), lowest, share(within)),
		remedy(est, limit, s.To-s.From, percent, " %"))
}
