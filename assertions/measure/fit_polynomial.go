package measure

import "math"

// mostDegree is the highest degree of a [Polynomial].
const mostDegree = 4

// Polynomial is the polynomial y = sum of Coefficient[k] ((x - Center)/Scale)^k of weighted least
// squares through points whose x is exact.
type Polynomial struct {
	Degree        int // 0..4
	Center, Scale float64
	Coefficient   [mostDegree + 1]float64
	// Residual is the standard deviation of y about the polynomial at weight 1, divisor
	// N - Degree - 1. Where the weights are one over the variance it is about 1.
	Residual float64
	N        int
	lag1     float64 // autocorrelation of the residuals in the order of the points
	normal   normal
}

// PolynomialOf fits a polynomial of a degree up to 4 to points; x, y and weight have the same
// length, and weights are above 0. center is where its derivatives are wanted. ok is false where
// there are not more points than coefficients, or where x does not spread enough. It
// allocates nothing.
func PolynomialOf(degree int, x, y, weight []float64, center float64) (p Polynomial, ok bool) {
	p = Polynomial{Degree: degree, Center: center, N: len(x)}
	if degree < 0 || degree > mostDegree || len(x) <= degree+1 || len(y) != len(x) || len(weight) != len(x) {
		return p, false
	}
	for _, at := range x {
		p.Scale = max(p.Scale, math.Abs(at-center))
	}
	if !(p.Scale > 0) || math.IsInf(p.Scale, 1) {
		return p, false
	}
	p.normal.reset(degree + 1)
	p.sum(x, y, weight, false)
	if !p.normal.factor() {
		return p, false
	}
	c := p.normal.solve(p.normal.b)
	copy(p.Coefficient[:], c[:])
	p.sum(x, y, weight, true) // refined once, for the digits that the normal equations lose
	c = p.normal.solve(p.normal.b)
	for k := range degree + 1 {
		p.Coefficient[k] += c[k]
	}
	p.spread(x, y, weight)
	return p, !math.IsNaN(p.Residual)
}

// sum builds the right side from y, or from what the polynomial leaves of it; the left side is
// built once.
func (p *Polynomial) sum(x, y, weight []float64, again bool) {
	q := &p.normal
	if again {
		q.b = [mostTerms]float64{}
	}
	var moment [2*mostDegree + 1]float64
	for i, at := range x {
		z := (at - p.Center) / p.Scale
		left := y[i]
		if again {
			left -= p.scaled(z)
		}
		power := weight[i]
		for k := range p.Degree + 1 {
			q.b[k] += float64(power * left)
			moment[k] += power
			power *= z
		}
		if again {
			continue
		}
		for k := p.Degree + 1; k <= 2*p.Degree; k++ {
			moment[k] += power
			power *= z
		}
	}
	if again {
		return
	}
	for i := range p.Degree + 1 {
		for j := range p.Degree + 1 {
			q.a[i][j] = moment[i+j]
		}
	}
}

// scaled returns the polynomial at z, x less the center in units of the scale.
func (p *Polynomial) scaled(z float64) float64 {
	y := 0.0
	for k := p.Degree; k >= 0; k-- {
		y = float64(y*z) + p.Coefficient[k]
	}
	return y
}

// spread works out the residuals' deviation and autocorrelation.
func (p *Polynomial) spread(x, y, weight []float64) {
	var square, product, last float64
	for i, at := range x {
		r := math.Sqrt(weight[i]) * (y[i] - p.scaled((at-p.Center)/p.Scale))
		square += float64(r * r)
		product += float64(last * r)
		last = r
	}
	p.Residual = math.Sqrt(square / float64(p.N-p.Degree-1))
	if square > 0 {
		p.lag1 = product / square
	}
}

// At returns the polynomial at x.
func (p *Polynomial) At(x float64) float64 { return p.scaled((x - p.Center) / p.Scale) }

// Derivative returns the k-th derivative at the center, 0 of those above the degree.
func (p *Polynomial) Derivative(k int) float64 {
	if k > p.Degree {
		return 0
	}
	d := p.Coefficient[k]
	for i := range k {
		d *= float64(i+1) / p.Scale
	}
	return d
}

// Standard returns the standard uncertainty of slope[0] times the value at the center plus slope[1]
// times the first derivative there, and so on. It comes from the residuals, of which only as
// many count as their autocorrelation leaves independent.
func (p *Polynomial) Standard(slope ...float64) float64 {
	var v [mostTerms]float64
	factor := 1.0
	for k, s := range slope {
		if k > p.Degree {
			break
		}
		if k > 0 {
			factor *= float64(k) / p.Scale
		}
		v[k] = s * factor
	}
	many := float64(p.N) / Effective(p.N, p.lag1)
	return p.Residual * math.Sqrt(p.normal.variance(v)*many)
}
