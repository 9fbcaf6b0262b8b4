package assertions

import (
	"cmp"
	"fmt"

	"hilrig/assertions/measure"
	"hilrig/plant"
)

// judge returns one result.
func (c SumKept) judge(e *Evidence) []Result {
	s, base, err := e.stepAndBaseline(c.Step)
	if err != nil {
		return []Result{unjudged("sum kept", err)}
	}
	return []Result{e.sumKept("sum kept", c.Within, s, base)}
}

// sumKept judges whether the four shifts cancel.
func (e *Evidence) sumKept(name string, within float64, s, base *Step) Result {
	within = cmp.Or(within, e.deadShift())
	limit := measure.Within(0, within)
	in := readings{e: e}
	var terms []measure.Term
	sum := 0.0
	for _, w := range plant.Wheels {
		est := in.shift(w, s, base)
		sum += est.Value
		terms = append(terms, measure.Term{Of: est, Slope: 1})
	}
	est := measure.Combine(sum, terms...)
	r := found(name, "change of the sum of the four commands", est, in.err, limit, s)
	return r.explained(fmt.Sprintf("the four commands together should stay as in the baseline, but their sum moved by %s ± %s of one motor's range, more than %s: the split changes the car's total drive",
		share(est.Value), share(est.Expanded()), share(within)),
		remedy(est, limit, shorter(s, base), percent, " %"))
}
