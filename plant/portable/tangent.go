package portable

import "math"

// Polynomial of the tangent on 0..0.67434 (fdlibm, k_tan.c).
const (
	t0  = 3.33333333333334091986e-01
	t1  = 1.33333333333201242699e-01
	t2  = 5.39682539762260521377e-02
	t3  = 2.18694882948595424599e-02
	t4  = 8.86323982359930005737e-03
	t5  = 3.59207910759131235356e-03
	t6  = 1.45620945432529025516e-03
	t7  = 5.88041240820264096874e-04
	t8  = 2.46463134818469906812e-04
	t9  = 7.81794442939557092300e-05
	t10 = 7.14072491382608190305e-05
	t11 = -1.85586374855275456654e-05
	t12 = 2.59073051863633712884e-05
)

const (
	quarterPiHi = halfPiHi / 2
	quarterPiLo = halfPiLo / 2
	tanBig      = 0.67434
)

// Tan returns the tangent of x, in radians; NaN for an infinite x.
func Tan(x float64) float64 {
	if x == 0 {
		return x
	}
	if math.Abs(x) <= math.Pi/4 {
		return tangent(x, 0, false)
	}
	q, r, t := reduce(x)
	return tangent(r, t, q&1 != 0)
}

// tangent returns the tangent of x + y for |x| up to pi/4, or, inverted, -1
// over it.
func tangent(x, y float64, inverted bool) float64 {
	a := x
	big := math.Abs(x) >= tanBig
	if big {
		if x < 0 {
			x, y = -x, -y
		}
		x = (quarterPiHi - x) + (quarterPiLo - y)
		y = 0
	}
	z := float64(x * x)
	w := float64(z * z)
	r := t1 + float64(w*(t3+float64(w*(t5+float64(w*(t7+float64(w*(t9+float64(w*t11)))))))))
	v := float64(z * (t2 + float64(w*(t4+float64(w*(t6+float64(w*(t8+float64(w*(t10+float64(w*t12)))))))))))
	s := float64(z * x)
	r = y + float64(z*(float64(s*(r+v))+y))
	r += float64(t0 * s)
	w = x + r
	if big {
		one := 1.0
		if inverted {
			one = -1
		}
		w = one - float64(2*(x-(float64(w*w)/(w+one)-r)))
		if a < 0 {
			return -w
		}
		return w
	}
	if !inverted {
		return w
	}
	// -1/(x+r) with one step of correction, on parts that multiply exactly.
	top := math.Float64frombits(math.Float64bits(w) >> 32 << 32)
	v = r - (top - x)
	g := -1 / w
	t := math.Float64frombits(math.Float64bits(g) >> 32 << 32)
	s = 1 + float64(t*top)
	return t + float64(g*(s+float64(t*v)))
}
