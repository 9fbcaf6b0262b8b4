package measure

import "math"

// Estimate is what is known of one quantity.
type Estimate struct {
	Value  float64
	Random float64 // standard uncertainty that falls with more samples, >= 0
	Fixed  float64 // standard uncertainty that more samples do not lower, >= 0
	// Freedom is the degrees of freedom of Random, at least 1. 0 stands for a
	// Random that is known, as if from infinitely many samples.
	Freedom float64
}

// MeanOf returns the estimate of the mean of x. fixed is the standard
// uncertainty that every value shares and that does not average out. x holds
// at least two values; with fewer there is no spread to be seen, and Random is
// infinite.
func MeanOf(x []float64, fixed float64) Estimate {
	s := Describe(x)
	if s.N < 2 {
		return Estimate{Value: s.Mean, Random: math.Inf(1), Fixed: fixed, Freedom: 1}
	}
	r := s.Lag1
	if s.Deviation > 0 {
		r += (1 + float64(4*r)) / float64(s.N)
	}
	return Estimate{
		Value:   s.Mean,
		Random:  s.Deviation / math.Sqrt(Effective(s.N, r)),
		Fixed:   fixed,
		Freedom: max(effectiveSpread(s.N, r)-1, 1),
	}
}

// Rectangular returns the standard uncertainty of a quantity that lies
// anywhere within ±half of its value: half/sqrt(3).
func Rectangular(half float64) float64 { return half / math.Sqrt(3) }

// Triangular returns the standard uncertainty of a quantity that lies within
// ±half of its value, in the middle most likely: half/sqrt(6).
func Triangular(half float64) float64 { return half / math.Sqrt(6) }

// Resolution returns the standard uncertainty that reading in steps of step
// leaves: step/sqrt(12).
func Resolution(step float64) float64 { return step / math.Sqrt(12) }

// Joined returns the root of the sum of the squares of independent standard
// uncertainties.
func Joined(u ...float64) float64 {
	sum := 0.0
	for _, v := range u {
		sum += float64(v * v)
	}
	return math.Sqrt(sum)
}

// Term is one input of a model: an estimate with the model's derivative by it.
type Term struct {
	Of    Estimate
	Slope float64
}

// Combine returns an estimate with the given value whose uncertainty is that
// of independent terms, by first-order propagation: u^2 = sum (slope u_i)^2,
// for the random and the fixed parts each. The degrees of freedom of the random
// part are those of Welch and Satterthwaite.
func Combine(value float64, terms ...Term) Estimate {
	var random, fixed, weight float64
	for _, t := range terms {
		r := t.Slope * t.Of.Random
		r2 := float64(r * r)
		f := t.Slope * t.Of.Fixed
		random += r2
		fixed += float64(f * f)
		if t.Of.Freedom > 0 {
			weight += float64(r2*r2) / t.Of.Freedom
		}
	}
	e := Estimate{Value: value, Random: math.Sqrt(random), Fixed: math.Sqrt(fixed)}
	if weight > 0 {
		e.Freedom = max(float64(random*random)/weight, 1)
	}
	return e
}

// Difference returns the estimate of a - b, the two being independent.
func Difference(a, b Estimate) Estimate {
	return Combine(a.Value-b.Value, Term{a, 1}, Term{b, -1})
}

// Standard returns the combined standard uncertainty of both parts.
func (e Estimate) Standard() float64 { return Joined(e.Random, e.Fixed) }

// Expanded returns the expanded uncertainty: half the width of the interval
// that holds the quantity with 95.45 % confidence.
func (e Estimate) Expanded() float64 {
	u := e.Standard()
	if u == 0 || math.IsInf(u, 1) {
		return u
	}
	if e.Freedom <= 0 || e.Random == 0 {
		return 2 * u
	}
	share := e.Random / u
	share *= share
	return Coverage(e.Freedom/float64(share*share)) * u
}

// Interval returns the interval that holds the quantity with 95.45 % confidence.
func (e Estimate) Interval() Interval {
	u := e.Expanded()
	return Interval{e.Value - u, e.Value + u}
}
