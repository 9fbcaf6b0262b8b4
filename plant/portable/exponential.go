package portable

import "math"

const (
	ln2Hi = 6.93147180369123816490e-01
	ln2Lo = 1.90821492927058770002e-10

	// fdlibm, e_exp.c.
	p1 = 1.66666666666666019037e-01
	p2 = -2.77777777770155933842e-03
	p3 = 6.61375632143793436117e-05
	p4 = -1.65339022054652515390e-06
	p5 = 4.13813679705723846039e-08

	// fdlibm, e_log.c.
	l1 = 6.666666666666735130e-01
	l2 = 3.999999999940941908e-01
	l3 = 2.857142874366239149e-01
	l4 = 2.222219843214978396e-01
	l5 = 1.818357216161805012e-01
	l6 = 1.531383769920937332e-01
	l7 = 1.479819860511658591e-01
)

// Exp returns e to the power x: +Inf above 709.78, 0 below -745.13.
func Exp(x float64) float64 {
	switch {
	case x != x || x > 709.782712893383973096:
		return x + math.Inf(1)
	case x < -745.13321910194110842:
		return 0
	case math.Abs(x) < 0x1p-28:
		return 1 + x
	}
	n := float64(x*math.Log2E) + roundShift - roundShift
	hi := x - float64(n*ln2Hi)
	lo := float64(n * ln2Lo)
	r := hi - lo
	t := float64(r * r)
	c := r - float64(t*(p1+float64(t*(p2+float64(t*(p3+float64(t*(p4+float64(t*p5)))))))))
	y := 1 - ((lo - float64(r*c)/(2-c)) - hi)
	k := int64(n)
	if k > -1021 && k < 1024 {
		return y * math.Float64frombits(uint64(k+1023)<<52)
	}
	return math.Ldexp(y, int(k))
}

// Log returns the natural logarithm of x: NaN below 0, -Inf at 0.
func Log(x float64) float64 {
	switch {
	case x != x || x > math.MaxFloat64:
		return x
	case x < 0:
		return math.NaN()
	case x == 0:
		return math.Inf(-1)
	}
	f, e := math.Frexp(x)
	if f < math.Sqrt2/2 {
		f *= 2
		e--
	}
	f--
	k := float64(e)
	s := f / (2 + f)
	z := float64(s * s)
	w := float64(z * z)
	r1 := float64(z * (l1 + float64(w*(l3+float64(w*(l5+float64(w*l7)))))))
	r2 := float64(w * (l2 + float64(w*(l4+float64(w*l6)))))
	r := r1 + r2
	h := float64(float64(0.5*f) * f)
	return float64(k*ln2Hi) - ((h - (float64(s*(h+r)) + float64(k*ln2Lo))) - f)
}
