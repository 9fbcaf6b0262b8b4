package portable

import "math"

// Series of the arc tangent on -1/32..1/32.
const (
	a1 = -1.0 / 3
	a2 = 1.0 / 5
	a3 = -1.0 / 7
	a4 = 1.0 / 9
	a5 = -1.0 / 11
)

// The table of arc tangents begins at 1/32, whose bits above the first three
// of the mantissa are tableFirst, and ends at 32.
const (
	tableShift = 49
	tableFirst = 0x3fa0000000000000 >> tableShift
	middle     = 1 << (tableShift - 1)
	signBit    = 1 << 63
)

// Atan returns the arc tangent of x, in radians, -pi/2..pi/2.
func Atan(x float64) float64 {
	b := math.Float64bits(x)
	sign := b & signBit
	b &^= signBit
	t := math.Float64frombits(b)
	hi, lo := 0.0, 0.0
	if i := b>>tableShift - tableFirst; i < uint64(len(arctangents)) {
		// atan x = atan c + atan((x-c)/(1+xc)) with c the middle of the interval.
		c := math.Float64frombits(b>>tableShift<<tableShift | middle)
		hi, lo = arctangents[i][0], arctangents[i][1]
		t = (t - c) / (1 + float64(t*c))
	} else if t >= 32 {
		hi, lo = halfPiHi, halfPiLo
		t = -1 / t
	}
	z := float64(t * t)
	p := float64(z * (a1 + float64(z*(a2+float64(z*(a3+float64(z*(a4+float64(z*a5)))))))))
	a := hi + (t + (lo + float64(t*p)))
	return math.Float64frombits(math.Float64bits(a) | sign)
}

// Atan8 replaces each value by its arc tangent, with the bits of [Atan].
func Atan8(x *[8]float64) {
	for i, t := range x {
		b := math.Float64bits(t)
		sign := b & signBit
		b &^= signBit
		t = math.Float64frombits(b)
		hi, lo := 0.0, 0.0
		if i := b>>tableShift - tableFirst; i < uint64(len(arctangents)) {
			c := math.Float64frombits(b>>tableShift<<tableShift | middle)
			hi, lo = arctangents[i][0], arctangents[i][1]
			t = (t - c) / (1 + float64(t*c))
		} else if t >= 32 {
			hi, lo = halfPiHi, halfPiLo
			t = -1 / t
		}
		z := float64(t * t)
		p := float64(z * (a1 + float64(z*(a2+float64(z*(a3+float64(z*(a4+float64(z*a5)))))))))
		a := hi + (t + (lo + float64(t*p)))
		x[i] = math.Float64frombits(math.Float64bits(a) | sign)
	}
}

// Atan2 returns the angle of the point (x, y) from the x axis, in radians,
// -pi..pi, in the quadrant that the signs of both say.
func Atan2(y, x float64) float64 {
	if x != x || y != y {
		return math.NaN()
	}
	ay, ax := math.Abs(y), math.Abs(x)
	switch {
	case ay == 0:
		if math.Signbit(x) {
			return math.Copysign(math.Pi, y)
		}
		return math.Copysign(0, y)
	case ax == 0:
		return math.Copysign(math.Pi/2, y)
	case ax > math.MaxFloat64 || ay > math.MaxFloat64:
		return atan2Infinite(y, x)
	}
	// Keep products away from overflow and underflow; both scales are exact.
	if m := max(ax, ay); m > 0x1p1000 {
		ax, ay = ax*0x1p-60, ay*0x1p-60
	} else if m < 0x1p-900 {
		ax, ay = ax*0x1p100, ay*0x1p100
	}
	q := ay / ax
	b := math.Float64bits(q)
	var hi, lo, t float64
	if i := b>>tableShift - tableFirst; i < uint64(len(arctangents)) {
		c := math.Float64frombits(b>>tableShift<<tableShift | middle)
		hi, lo = arctangents[i][0], arctangents[i][1]
		// c has few bits: its products with both parts of ax are exact.
		top := math.Float64frombits(math.Float64bits(ax) &^ (1<<26 - 1))
		t = ((ay - float64(c*top)) - float64(c*(ax-top))) / (ax + float64(c*ay))
	} else if q >= 32 {
		hi, lo, t = halfPiHi, halfPiLo, -(ax / ay)
	} else {
		t = q
	}
	z := float64(t * t)
	p := float64(z * (a1 + float64(z*(a2+float64(z*(a3+float64(z*(a4+float64(z*a5)))))))))
	rest := t + (lo + float64(t*p))
	if math.Signbit(x) {
		s := math.Pi - hi
		rest = 2*halfPiLo - rest + ((math.Pi - s) - hi)
		return math.Copysign(s+rest, y)
	}
	return math.Copysign(hi+rest, y)
}

// atan2Infinite is Atan2 with at least one infinite coordinate.
func atan2Infinite(y, x float64) float64 {
	a := 0.0
	switch {
	case math.IsInf(y, 0) && math.IsInf(x, 1):
		a = math.Pi / 4
	case math.IsInf(y, 0) && math.IsInf(x, -1):
		a = 3 * math.Pi / 4
	case math.IsInf(y, 0):
		a = math.Pi / 2
	case math.Signbit(x):
		a = math.Pi
	}
	return math.Copysign(a, y)
}
