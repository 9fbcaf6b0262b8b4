package measure

import "math"

// Estimate is what is known of one quantity.
type Estimate struct {
	Value       float64
	Statistical float64 // standard uncertainty that falls with more samples, >= 0
	Systematic  float64 // standard uncertainty that more samples do not lower, >= 0
	// DegreesOfFreedom is the degrees of freedom of Statistical, at least 1. 0 stands for a
	// Statistical that is known, as if from infinitely many samples.
	DegreesOfFreedom float64
}

// MeanOf returns the estimate of the mean of x. systematic is the standard
// uncertainty that every value shares and that does not average out. x holds
// at least two values; with fewer there is no spread to be seen, and Statistical is
// infinite.
func MeanOf(x []float64, systematic float64) Estimate {
	s := Describe(x)
	if s.N < 2 {
		return Estimate{Value: s.Mean, Statistical: math.Inf(1), Systematic: systematic, DegreesOfFreedom: 1}
	}
	r := lagOf(&s)
	return Estimate{
		Value:            s.Mean,
		Statistical:      s.Deviation / math.Sqrt(s.effective(r)),
		Systematic:       systematic,
		DegreesOfFreedom: max(effectiveSpread(s.N, r)-1, 1),
	}
}

// lagOf returns the lag-1 autocorrelation that a series is taken to have: the sample's with its
// bias, and where it is positive with a share of its own deviation, for a coefficient that is
// too small makes an interval too narrow by more than one too large makes it too wide.
func lagOf(s *Series) float64 {
	r := s.Lag1
	if s.Deviation == 0 || s.N == 0 {
		return r
	}
	n := float64(s.N)
	off := max(r, 0) * math.Sqrt(max(1-float64(r*r), 0)/n)
	return min(r+(1+float64(4*r))/n+off, 1)
}

// effective returns how many independent values the series is worth for its mean, with the
// lag-1 autocorrelation r: as [Effective] says, and more where what hangs together ends sooner
// than in an autoregressive series, as in one whose values each come several times.
func (s *Series) effective(r float64) float64 {
	if r <= 0 {
		return float64(s.N)
	}
	n := float64(s.N)
	// The correlations fall by ratio from lag to lag; its own deviation is added.
	ratio := min(r, max(s.Lag2, 0)/r+1/(r*math.Sqrt(n)))
	return max(within(n/(1+float64(2*r)/(1-ratio)), s.N), Effective(s.N, r))
}

// Rectangular returns the standard uncertainty of a quantity that lies
// anywhere within ±half of its value: half/sqrt(3).
func Rectangular(half float64) float64 { return half / math.Sqrt(3) }

// Resolution returns the standard uncertainty that reading in steps of step
// leaves: step/sqrt(12).
func Resolution(step float64) float64 { return step / math.Sqrt(12) }

// RootSumSquare returns the root of the sum of the squares of independent standard
// uncertainties.
func RootSumSquare(u ...float64) float64 {
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
// for the statistical and the systematic parts each. The degrees of freedom of the statistical
// part are those of Welch and Satterthwaite.
func Combine(value float64, terms ...Term) Estimate {
	var statistical, systematic, weight float64
	for _, t := range terms {
		r := t.Slope * t.Of.Statistical
		r2 := float64(r * r)
		f := t.Slope * t.Of.Systematic
		statistical += r2
		systematic += float64(f * f)
		if t.Of.DegreesOfFreedom > 0 {
			weight += float64(r2*r2) / t.Of.DegreesOfFreedom
		}
	}
	e := Estimate{Value: value, Statistical: math.Sqrt(statistical), Systematic: math.Sqrt(systematic)}
	if weight > 0 {
		e.DegreesOfFreedom = max(float64(statistical*statistical)/weight, 1)
	}
	return e
}

// Difference returns the estimate of a - b, the two being independent.
func Difference(a, b Estimate) Estimate {
	return Combine(a.Value-b.Value, Term{a, 1}, Term{b, -1})
}

// Standard returns the combined standard uncertainty of both parts.
func (e Estimate) Standard() float64 { return RootSumSquare(e.Statistical, e.Systematic) }

// Expanded returns the expanded uncertainty: half the width of the interval
// that holds the quantity with 95.45 % confidence.
func (e Estimate) Expanded() float64 {
	u := e.Standard()
	if u == 0 || math.IsInf(u, 1) {
		return u
	}
	if e.DegreesOfFreedom <= 0 || e.Statistical == 0 {
		return 2 * u
	}
	share := e.Statistical / u
	share *= share
	return CoverageFactor(e.DegreesOfFreedom/float64(share*share)) * u
}

// Interval returns the interval that holds the quantity with 95.45 % confidence.
func (e Estimate) Interval() Interval {
	return Within(e.Value, e.Expanded())
}
