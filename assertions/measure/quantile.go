package measure

import (
	"math"
	"sort"

	"gonum.org/v1/gonum/stat/distuv"
)

// Quantile returns the quantile p, 0..1, of values in ascending order, as the
// NIST e-Handbook defines it: the value at rank p(N+1) counted from 1, between
// two ranks by the straight line, beyond the ends the end. It is not a number
// where sorted is empty or p is not a number.
func Quantile(sorted []float64, p float64) float64 {
	n := len(sorted)
	if n == 0 || math.IsNaN(p) {
		return math.NaN()
	}
	rank := min(max(p*float64(n+1), 1), float64(n))
	k := int(math.Floor(rank))
	if k >= n {
		return sorted[n-1]
	}
	d := rank - float64(k)
	if d == 0 {
		return sorted[k-1]
	}
	return sorted[k-1] + float64(d*(sorted[k]-sorted[k-1]))
}

// QuantileInterval returns an interval that holds the quantile p of what
// values in ascending order were drawn from, with at least the given
// confidence, half of the remaining chance on each side. It rests on order statistics
// alone: whatever the distribution, the number of values below the quantile is
// binomial. Where the values are too few for a bound on one side, that end is
// infinite.
func QuantileInterval(sorted []float64, p, confidence float64) Interval {
	open := Interval{math.Inf(-1), math.Inf(1)}
	n := len(sorted)
	if n == 0 || !(p > 0 && p < 1) || !(confidence > 0 && confidence < 1) {
		return open
	}
	tail := (1 - confidence) / 2
	below := distuv.Binomial{N: float64(n), P: p}
	// The l-th value stands above the quantile when fewer than l values stand
	// below it, which must be unlikely; the u-th below it when u or more do.
	if l := sort.Search(n, func(i int) bool { return below.CDF(float64(i)) > tail }); l > 0 {
		open.Low = sorted[l-1]
	}
	if u := sort.Search(n, func(i int) bool { return below.CDF(float64(i)) >= 1-tail }); u < n {
		open.High = sorted[u]
	}
	return open
}
