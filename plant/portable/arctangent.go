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
