package measure

import (
	"math"
	"slices"

	"hilrig/plant/portable"
)

// Responses sums up how long each of a series of trials took.
type Responses struct {
	Quantile   float64  // of the times, +Inf where that many trials brought no answer
	Within     Interval // holds the quantile with 95.45 % confidence, by order statistics
	Trials     int
	Unanswered int // trials without an answer
}

// ResponseQuantile returns the quantile p of times, one for each trial, +Inf for
// a trial without an answer. The unit is that of times, which it does not change.
func ResponseQuantile(times []float64, p float64) Responses {
	sorted := slices.Clone(times)
	slices.Sort(sorted)
	r := Responses{Trials: len(sorted), Within: QuantileInterval(sorted, p, Confidence)}
	if i := slices.Index(sorted, math.Inf(1)); i >= 0 {
		r.Unanswered = len(sorted) - i
	}
	r.Quantile = Quantile(sorted, p)
	if math.IsNaN(r.Quantile) && len(sorted) > 0 {
		r.Quantile = math.Inf(1) // between two that never came
	}
	return r
}

// Kuiper tests whether phases, shares of a period in [0, 1), are spread evenly
// round the circle. It returns Kuiper's statistic V, 0..1, and how likely phases that
// are evenly spread have one as large. It does not depend on where the circle
// is cut. Of no phases, p is 1.
//
// N. H. Kuiper, Tests concerning random points on a circle, Proc. Koninkl.
// Nederl. Akad. van Wetenschappen A 63 (1960); the approximation for few points is
// M. A. Stephens, J. R. Stat. Soc. B 32 (1970), good to 2 digits from 4 points
// on; both from memory.
func Kuiper(phases []float64) (v, p float64) {
	n := len(phases)
	if n == 0 {
		return 0, 1
	}
	sorted := slices.Clone(phases)
	slices.Sort(sorted)
	var above, below float64
	for i, x := range sorted {
		above = max(above, float64(i+1)/float64(n)-x)
		below = max(below, x-float64(i)/float64(n))
	}
	v = above + below
	root := math.Sqrt(float64(n))
	z := v * (root + 0.155 + 0.24/root)
	if z < 0.4 {
		return v, 1
	}
	for j := 1; j <= 100; j++ {
		a := float64(float64(j*j) * z * z)
		term := 2 * (float64(4*a) - 1) * portable.Exp(-2*a)
		p += term
		if math.Abs(term) < 1e-12 {
			break
		}
	}
	return v, min(max(p, 0), 1)
}
