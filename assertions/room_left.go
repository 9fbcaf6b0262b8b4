package assertions

import (
	"fmt"
	"math"
)

// tooNear returns r with why it failed, or where its interval reaches across its limit with that and what would decide it: so much more
// room at where, "the policy's spike", or commands and stamps that are known better.
func (r Result) tooNear(why, where string) Result {
	return r.explained(why, why+"; "+r.moreRoom(where))
}

// moreRoom says how much more room would decide a result whose interval reaches across its limit.
func (r *Result) moreRoom(where string) string {
	m := r.measured
	lacking := max(m.High-m.Limit.High, m.Limit.Low-m.Low)
	return fmt.Sprintf("too near the limit to be decided: leave more than %s %s more room in %s, or have finer steps or a faster sampler", number(lacking), m.Unit, where)
}

// decides says what would decide how far something moved a motor, of which r is the result: the motor's mean before is known to so much,
// and the command that went farthest to what the sampler leaves.
func (x *excursion) decides(b *branch, r *Result, mean, sampled float64) string {
	m := r.measured
	if near := math.Abs(m.Limit.High-m.Estimate) / percent; sampled >= near {
		return r.moreRoom(x.key)
	}
	better := "let " + x.what + " come later after the settling, so that the mean is known better"
	if b.e.Given {
		better = "quieten what makes the commands move"
	}
	return fmt.Sprintf("too near the limit to be decided, for the mean before is known to ±%s: leave more than %s %% more room in %s, or %s",
		share(mean), number(m.High-m.Limit.High), x.key, better)
}
