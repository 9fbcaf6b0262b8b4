package portable

import "math"

// Polynomials of sine and cosine on -pi/4..pi/4 (fdlibm, k_sin.c and k_cos.c).
const (
	s1 = -1.66666666666666324348e-01
	s2 = 8.33333333332248946124e-03
	s3 = -1.98412698298579493134e-04
	s4 = 2.75573137070700676789e-06
	s5 = -2.50507602534068634195e-08
	s6 = 1.58969099521155010221e-10

	c1 = 4.16666666666666019037e-02
	c2 = -1.38888888888741095749e-03
	c3 = 2.48015872894767294178e-05
	c4 = -2.75573143513906633035e-07
	c5 = 2.08757232129817482790e-09
	c6 = -1.13596475577881948265e-11
)

// sine returns the sine of x + y for |x| up to pi/4 and a tail y below one unit
// in the last place of x.
func sine(x, y float64) float64 {
	z := float64(x * x)
	v := float64(z * x)
	r := s2 + float64(z*(s3+float64(z*(s4+float64(z*(s5+float64(z*s6)))))))
	return x - ((float64(z*(float64(0.5*y)-float64(v*r))) - y) - float64(v*s1))
}

// cosine returns the cosine of x + y, as sine does.
func cosine(x, y float64) float64 {
	z := float64(x * x)
	r := float64(z * (c1 + float64(z*(c2+float64(z*(c3+float64(z*(c4+float64(z*(c5+float64(z*c6)))))))))))
	h := float64(0.5 * z)
	w := 1 - h
	return w + (((1 - w) - h) + (float64(z*r) - float64(x*y)))
}

// Sin returns the sine of x, in radians; NaN for an infinite x.
func Sin(x float64) float64 {
	if math.Abs(x) <= math.Pi/4 {
		return sine(x, 0)
	}
	q, r, t := reduce(x)
	var s float64
	if q&1 == 0 {
		s = sine(r, t)
	} else {
		s = cosine(r, t)
	}
	if q&2 != 0 {
		return -s
	}
	return s
}

// SinCos returns the sine, with the bits of [Sin], and the cosine of x, in radians; NaN for an
// infinite x.
func SinCos(x float64) (sin, cos float64) {
	if math.Abs(x) <= math.Pi/4 {
		return sine(x, 0), cosine(x, 0)
	}
	q, r, t := reduce(x)
	sin, cos = sine(r, t), cosine(r, t)
	if q&1 != 0 {
		sin, cos = cos, sin
	}
	if q&2 != 0 {
		sin = -sin
	}
	if (q+1)&2 != 0 {
		cos = -cos
	}
	return sin, cos
}

// Sin8 replaces each value by its sine, with the bits of [Sin].
func Sin8(x *[8]float64) {
	for i, a := range x {
		t := 0.0
		q := int64(0)
		if math.Abs(a) > math.Pi/4 {
			// The first steps of reduce, without the call.
			n := float64(a*twoOverPi) + roundShift - roundShift
			if math.Abs(n) > maxQuarter || a != a {
				x[i] = Sin(a)
				continue
			}
			q = int64(n)
			u := a - float64(n*halfPi1)
			w := float64(n * halfPi2)
			v := u - w
			w = float64(n*halfPi2Tail) - ((u - v) - w)
			a = v - w
			t = (v - a) - w
			if math.Abs(a) < math.Abs(n)*cancelled {
				x[i] = Sin(x[i])
				continue
			}
		}
		z := float64(a * a)
		if q&1 == 0 {
			v := float64(z * a)
			r := s2 + float64(z*(s3+float64(z*(s4+float64(z*(s5+float64(z*s6)))))))
			a -= (float64(z*(float64(0.5*t)-float64(v*r))) - t) - float64(v*s1)
		} else {
			r := float64(z * (c1 + float64(z*(c2+float64(z*(c3+float64(z*(c4+float64(z*(c5+float64(z*c6)))))))))))
			h := float64(0.5 * z)
			w := 1 - h
			a = w + (((1 - w) - h) + (float64(z*r) - float64(a*t)))
		}
		if q&2 != 0 {
			a = -a
		}
		x[i] = a
	}
}
