package measure

import (
	"math"

	"gonum.org/v1/gonum/floats"
)

// Series sums up a series of readings.
type Series struct {
	N         int
	Mean      float64 // 0 for an empty series
	Deviation float64 // sample standard deviation, divisor N - 1; 0 for fewer than two values
	Lag1      float64 // autocorrelation at lag 1, -1..1; 0 where the values do not spread
	Lag2      float64 // the same at lag 2
}

// Describe sums up x. A value that is not a number makes every figure not a
// number. The deviation is taken about the mean in a second pass, so that a
// small spread on a large offset keeps its digits.
func Describe(x []float64) Series {
	s := Series{N: len(x)}
	if s.N == 0 {
		return s
	}
	s.Mean = floats.SumCompensated(x) / float64(s.N)
	var square, product, product2, last, last2 float64
	for i, v := range x {
		d := v - s.Mean
		square += float64(d * d)
		if i > 0 {
			product += float64(last * d)
		}
		if i > 1 {
			product2 += float64(last2 * d)
		}
		last2, last = last, d
	}
	if s.N > 1 {
		s.Deviation = math.Sqrt(square / float64(s.N-1))
	}
	if square != 0 {
		s.Lag1, s.Lag2 = product/square, product2/square
	}
	return s
}

// Effective returns how many independent values n values with the lag-1
// autocorrelation r are worth for their mean, within 1..n. n is at least 1.
func Effective(n int, r float64) float64 {
	if r <= 0 {
		return float64(n)
	}
	return within(float64(n)*(1-r)/(1+r), n)
}

// effectiveSpread returns how many independent values n values with the lag-1
// autocorrelation r are worth for their variance, within 1..n.
func effectiveSpread(n int, r float64) float64 {
	r2 := float64(r * r)
	return within(float64(n)*(1-r2)/(1+r2), n)
}

// within keeps an effective number in 1..n.
func within(effective float64, n int) float64 { return min(max(effective, 1), float64(n)) }
