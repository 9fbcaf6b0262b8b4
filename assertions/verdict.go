package assertions

import (
	"math"
	"strconv"

	"hilrig/assertions/measure"
)

// severity orders the verdicts for Worst.
var severity = map[Verdict]int{NotAsked: 0, Pass: 1, Undecided: 2, Fail: 3}

// Worst returns the worst verdict of results: fail before undecided before
// pass before not asked. Of no results it is NotAsked.
func Worst(results []Result) Verdict {
	worst := NotAsked
	for i := range results {
		if severity[results[i].Verdict] > severity[worst] {
			worst = results[i].Verdict
		}
	}
	return worst
}

// worse says whether r is the worse of two results of one quantity that is to
// be small: by its verdict, then by its size.
func (r *Result) worse(other *Result) bool {
	if r.Verdict != other.Verdict {
		return severity[r.Verdict] > severity[other.Verdict]
	}
	return r.measured.Estimate > other.measured.Estimate
}

// Round returns x with that many significant decimal digits, 1 to 17. Zero,
// infinities and what is not a number are returned as they are, negative zero
// as zero.
func Round(x float64, digits int) float64 {
	if x == 0 || math.IsNaN(x) || math.IsInf(x, 0) {
		return x + 0
	}
	written := strconv.FormatFloat(x, 'e', min(max(digits, 1), 17)-1, 64)
	r, err := strconv.ParseFloat(written, 64)
	if err != nil { // rounded up past the largest number
		return x
	}
	return r
}

// judged returns r with what was measured and the verdict on it. A number that is not
// finite decides nothing and is not kept.
func judged(r Result, m Measurement) Result {
	for _, x := range []float64{m.Estimate, m.Low, m.High} {
		if math.IsNaN(x) || math.IsInf(x, 0) {
			return unmeasured(r, Undecided, m.Quantity+" cannot be worked out: the readings are no finite numbers")
		}
	}
	if math.IsNaN(m.Limit.Low) || math.IsNaN(m.Limit.High) {
		return unmeasured(r, Undecided, m.Quantity+" has no limit: what the policy or the check declares is no number")
	}
	r.measured = m
	switch (measure.Interval{Low: m.Low, High: m.High}).Against(measure.Interval(m.Limit)) {
	case measure.Inside:
		r.Verdict = Pass
	case measure.Outside:
		r.Verdict = Fail
	default:
		r.Verdict = Undecided
	}
	return r
}

// unmeasured returns r without numbers, with a verdict and its reason.
func unmeasured(r Result, v Verdict, why string) Result {
	return Result{Name: r.Name, Step: r.Step, At: r.At, Verdict: v, Why: why}
}

// DeadShiftFor returns the shift below which a motor counts as not moved, a
// share of range: the policy's DeadShift, or where it has none 1 % of the
// range or three command steps, whichever is more.
func (p *Policy) DeadShiftFor(commandStep float64) float64 {
	if p != nil && p.DeadShift > 0 {
		return p.DeadShift
	}
	return max(0.01, 3*commandStep)
}
