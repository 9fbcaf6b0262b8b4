package measure

import "math"

// MeanOfRepeats returns the estimate of the mean of x, each value from a run of
// its own, so that they are independent whatever their order. systematic is the
// standard uncertainty that more runs do not lower. Of one value only systematic
// is known, and Statistical is 0; x holds at least one.
func MeanOfRepeats(x []float64, systematic float64) Estimate {
	s := Describe(x)
	if s.N < 2 {
		return Estimate{Value: s.Mean, Systematic: systematic}
	}
	return Estimate{Value: s.Mean, Statistical: s.Deviation / math.Sqrt(float64(s.N)), Systematic: systematic, DegreesOfFreedom: float64(s.N - 1)}
}

// Improvement returns the estimate of how much smaller the mean of with is than that
// of without, as a share of the latter: 1 - mean(with)/mean(without). The two
// are paired: value i of both comes from runs that differ in nothing else, so
// that what pairs have in common adds no uncertainty. Both have the same
// length, at least 1. Where the mean of without is not above 0 it is not a number.
//
// The uncertainty is that of a ratio of paired means (W. G. Cochran, Sampling
// Techniques, chapter 6: ratio estimators; from memory).
func Improvement(with, without []float64) Estimate {
	n := float64(len(without))
	whole := Describe(without).Mean
	if len(with) != len(without) || !(whole > 0) {
		return Estimate{Value: math.NaN()}
	}
	left := Describe(with).Mean / whole
	if n < 2 {
		return Estimate{Value: 1 - left}
	}
	sum := 0.0
	for i, x := range with {
		d := x - float64(left*without[i])
		sum += float64(d * d)
	}
	return Estimate{Value: 1 - left, Statistical: math.Sqrt(sum/(n*(n-1))) / whole, DegreesOfFreedom: n - 1}
}
