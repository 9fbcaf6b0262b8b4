package portable

import (
	"math"
	"math/big"
	"strings"
)

// Reference values in arbitrary precision: power series in math/big, with
// arguments reduced by the functional equations. They share no code and no
// constant with the package.

const precision = 320

// precisePi returns pi by Machin's formula. The reduction of the largest float64
// needs some 1,300 bits of it.
func precisePi(prec uint) *big.Float {
	a := inverseArctangent(5, prec) // pi = 16 atan(1/5) - 4 atan(1/239)
	b := inverseArctangent(239, prec)
	a.Mul(a, big.NewFloat(16))
	b.Mul(b, big.NewFloat(4))
	return a.Sub(a, b)
}

func inverseArctangent(n int64, prec uint) *big.Float {
	one := new(big.Float).SetPrec(prec).SetInt64(1)
	square := new(big.Float).SetPrec(prec).SetInt64(n * n)
	term := new(big.Float).SetPrec(prec).Quo(one, new(big.Float).SetInt64(n))
	sum := new(big.Float).SetPrec(prec).Set(term)
	for k := int64(1); term.Sign() != 0 && term.MantExp(nil) > -int(prec); k++ {
		term.Quo(term, square)
		part := new(big.Float).SetPrec(prec).Quo(term, new(big.Float).SetInt64(2*k+1))
		if k%2 == 1 {
			sum.Sub(sum, part)
		} else {
			sum.Add(sum, part)
		}
	}
	return sum
}

func newFloat(x float64) *big.Float { return new(big.Float).SetPrec(precision).SetFloat64(x) }

var widePi = precisePi(1400)

// preciseTurn returns x modulo pi/2, nearest to 0, and the number of quarter turns
// modulo 4.
func preciseTurn(x float64) (*big.Float, int) {
	half := new(big.Float).SetPrec(1400).Quo(widePi, big.NewFloat(2))
	q := new(big.Float).SetPrec(1400).Quo(new(big.Float).SetPrec(1400).SetFloat64(x), half)
	if q.Sign() >= 0 {
		q.Add(q, big.NewFloat(0.5))
	} else {
		q.Sub(q, big.NewFloat(0.5))
	}
	n, _ := q.Int(nil)
	r := new(big.Float).SetPrec(1400).SetFloat64(x)
	r.Sub(r, new(big.Float).SetPrec(1400).Mul(new(big.Float).SetPrec(1400).SetInt(n), half))
	m := new(big.Int).And(n, big.NewInt(3)) // two's complement, as for negative numbers
	return new(big.Float).SetPrec(precision).Set(r), int(m.Int64())
}

// series sums first * (1 + ...) where each term is the one before times step over
// (k+1)(k+2) and k goes by 2.
func series(first, step *big.Float, k int64) *big.Float {
	sum := new(big.Float).SetPrec(precision).Set(first)
	term := new(big.Float).SetPrec(precision).Set(first)
	for ; term.Sign() != 0 && term.MantExp(nil) > sum.MantExp(nil)-precision; k += 2 {
		term.Mul(term, step)
		term.Quo(term, new(big.Float).SetInt64((k+1)*(k+2)))
		sum.Add(sum, term)
	}
	return sum
}

func preciseSinCos(x float64) (sin, cos *big.Float) {
	r, q := preciseTurn(x)
	step := new(big.Float).SetPrec(precision).Mul(r, r)
	step.Neg(step)
	s := series(r, step, 1)
	c := series(newFloat(1), step, 0)
	if q&1 == 1 {
		s, c = c, s
	}
	if q&2 != 0 {
		s.Neg(s)
	}
	if (q+1)&2 != 0 {
		c.Neg(c)
	}
	return s, c
}

func preciseSin(x float64) *big.Float { s, _ := preciseSinCos(x); return s }
func preciseCos(x float64) *big.Float { _, c := preciseSinCos(x); return c }
func preciseTan(x float64) *big.Float {
	s, c := preciseSinCos(x)
	return s.Quo(s, c)
}

// preciseExp sums the series of x/1024 and squares ten times.
func preciseExp(x float64) *big.Float {
	step := new(big.Float).SetPrec(precision).SetMantExp(newFloat(x), -10)
	sum, term := newFloat(1), newFloat(1)
	for k := int64(1); term.Sign() != 0 && term.MantExp(nil) > -precision; k++ {
		term.Mul(term, step)
		term.Quo(term, new(big.Float).SetInt64(k))
		sum.Add(sum, term)
	}
	for range 10 {
		sum.Mul(sum, sum)
	}
	return sum
}

// preciseLog sums 2 artanh((m-1)/(m+1)) and adds the exponent times ln 2.
func preciseLog(x float64) *big.Float {
	m, e := math.Frexp(x)
	if m < math.Sqrt2/2 {
		m, e = 2*m, e-1
	}
	l := artanh(m)
	two := artanh(2)
	return l.Add(l, two.Mul(two, new(big.Float).SetInt64(int64(e))))
}

func artanh(m float64) *big.Float {
	z := new(big.Float).SetPrec(precision).Quo(
		new(big.Float).SetPrec(precision).Sub(newFloat(m), newFloat(1)),
		new(big.Float).SetPrec(precision).Add(newFloat(m), newFloat(1)))
	square := new(big.Float).SetPrec(precision).Mul(z, z)
	sum, term := newFloat(0), new(big.Float).SetPrec(precision).Set(z)
	for k := int64(1); term.Sign() != 0 && term.MantExp(nil) > z.MantExp(nil)-precision; k += 2 {
		sum.Add(sum, new(big.Float).SetPrec(precision).Quo(term, new(big.Float).SetInt64(k)))
		term.Mul(term, square)
	}
	return sum.Mul(sum, newFloat(2))
}

// preciseAtan2 finds the angle from that of float64 by one step of Newton's method
// for the sine and cosine: the error is cubed.
func preciseAtan2(y, x float64) *big.Float {
	a := math.Atan2(y, x)
	s, c := preciseSinCos(a)
	by, bx := newFloat(y), newFloat(x)
	product := func(p, q *big.Float) *big.Float { return new(big.Float).SetPrec(precision).Mul(p, q) }
	cross := product(c, by)
	cross.Sub(cross, product(s, bx))
	dot := product(c, bx)
	dot.Add(dot, product(s, by))
	return cross.Add(cross.Quo(cross, dot), newFloat(a))
}

func preciseAtan(x float64) *big.Float { return preciseAtan2(x, 1) }

// off returns the distance of got from want in units in the last place of want.
func off(got float64, want *big.Float) float64 {
	w, _ := want.Float64()
	if math.IsInf(w, 0) || math.IsInf(got, 0) {
		if got == w {
			return 0
		}
		return math.Inf(1)
	}
	unit := math.Nextafter(math.Abs(w), math.Inf(1)) - math.Abs(w)
	d := new(big.Float).SetPrec(precision).Sub(newFloat(got), want)
	f, _ := d.Quo(d, newFloat(unit)).Float64()
	return math.Abs(f)
}

// digitsOf is a decimal constant in full precision.
func digitsOf(s string) *big.Float {
	f, _, err := big.ParseFloat(strings.ReplaceAll(s, " ", ""), 10, precision, big.ToNearestEven)
	if err != nil {
		panic(err)
	}
	return f
}
