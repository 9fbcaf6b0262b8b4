package assertions

import (
	"fmt"

	"hilrig/assertions/measure"
	"hilrig/plant"
)

// sumCap asks of a step in which the four commands would come to more whether they keep the policy's cap of
// their sum.
func (b *branch) sumCap() []ask {
	most, sum := *b.p.SumCap, 0.0
	in, free := b.e.meant(b.s), b.p.Without("sum_cap")
	for _, u := range b.e.firmware(free).law.At(&in).Unshifted {
		sum += u.Low
	}
	if sum <= most {
		return b.notAsked(fmt.Sprintf("with no shift the four commands come to %s of one motor's range in this step, and the cap of their sum is %s", share(sum), share(most)))
	}
	name := b.name("the four commands together at most " + share(most))
	return []ask{asking(name, func(b *branch) Result { return b.sumWithin(name, most) })}
}

// sumWithin judges the mean of the sum of the four commands, each of which may be off by the resolution.
func (b *branch) sumWithin(name string, most float64) Result {
	in, sum := readings{e: b.e}, 0.0
	var terms []measure.Term
	for _, w := range plant.Wheels {
		m := in.mean(w, b.s)
		sum += m.Value
		terms = append(terms, measure.Term{Of: m, Slope: 1})
	}
	est, limit := measure.Combine(sum, terms...), AtMost(most+4*b.e.offBy())
	r := found(name, "sum of the four commands", est, in.err, limit, b.s)
	return r.explained(fmt.Sprintf("the four commands together came to %s ± %s of one motor's range; the policy allows %s", share(est.Value), share(est.Expanded()), share(most)),
		b.e.remedy(est, limit, b.s.To-b.s.From, percent, " %"))
}
