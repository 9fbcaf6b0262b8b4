package portable

import (
	"math"
	"math/bits"
)

// Reduction of an angle to -pi/4..pi/4. halfPi1 and halfPi2 are the first and
// second 33 bits of pi/2, so that their products with up to maxQuarter quarter
// turns are exact.
const (
	twoOverPi   = 2 / math.Pi
	halfPi1     = 0x1.921fb54400000p+0
	halfPi2     = 0x1.0b4611a600000p-34
	halfPi2Tail = 0x1.3198a2e037073p-69
	halfPiHi    = 0x1.921fb54442d18p+0
	halfPiLo    = 0x1.1a62633145c07p-54
	roundShift  = 0x1.8p52 // adding and subtracting it rounds to a whole number
	maxQuarter  = 1 << 20
	cancelled   = 0x1p-57 // a remainder below this share of the quarter turns has lost too many bits
)

// reduce returns the number of quarter turns q nearest to x, modulo 4 or whole,
// and the remainder r + t with r in -pi/4..pi/4 and t its tail. NaN and infinities
// give NaN.
func reduce(x float64) (q int64, r, t float64) {
	n := float64(x*twoOverPi) + roundShift - roundShift
	if !(math.Abs(n) <= maxQuarter) {
		return reduceLarge(x)
	}
	u := x - float64(n*halfPi1)
	w := float64(n * halfPi2)
	v := u - w
	w = float64(n*halfPi2Tail) - ((u - v) - w)
	r = v - w
	t = (v - r) - w
	if math.Abs(r) < math.Abs(n)*cancelled {
		return reduceLarge(x)
	}
	return int64(n), r, t
}

// digits are the first bits of 2/pi after the binary point, 64 in a word.
var digits = [20]uint64{
	0xa2f9836e4e441529, 0xfc2757d1f534ddc0, 0xdb6295993c439041, 0xfe5163abdebbc561,
	0xb7246e3a424dd2e0, 0x06492eea09d1921c, 0xfe1deb1cb129a73e, 0xe88235f52ebb4484,
	0xe99c7026b45f7e41, 0x3991d639835339f4, 0x9c845f8bbdf9283b, 0x1ff897ffde05980f,
	0xef2f118b5a0a6d1f, 0x6d367ecf27cb09b7, 0x4f463f669e5fea2d, 0x7527bac7ebe5f17b,
	0x3d0739f78a5292ea, 0x6bfb5fb11f8d5d08, 0x56033046fc7b6bab, 0xf0cfbc209af4361d,
}

// reduceLarge is reduce for any x: it multiplies the mantissa with those bits
// of 2/pi that make the last two whole bits and some 137 bits of the fraction, of
// which no float64 cancels more than 62.
func reduceLarge(x float64) (q int64, r, t float64) {
	if math.IsNaN(x) || math.IsInf(x, 0) {
		return 0, math.NaN(), math.NaN()
	}
	b := math.Float64bits(math.Abs(x))
	mantissa := b&(1<<52-1) | 1<<52
	exponent := int(b>>52) - 1075 // x = mantissa * 2^exponent, -53 at least

	// The product is taken modulo 4: bits of 2/pi of weight 2^(2-exponent) and
	// more cannot matter.
	first := exponent - 2 // bits to leave out; negative: leading zeros
	var d [3]uint64
	for i := range d {
		d[i] = digitsAt(first + 64*i)
	}
	h2, l2 := bits.Mul64(d[2], mantissa)
	h1, l1 := bits.Mul64(d[1], mantissa)
	l0 := d[0] * mantissa
	p1, carry := bits.Add64(l1, h2, 0)
	p0, _ := bits.Add64(l0, h1, carry)

	// p0 p1 l2 is x*2/pi modulo 4, two bits before the point.
	q = int64(p0 >> 62)
	p2 := l2 << 2
	p0, p1 = p0<<2|p1>>62, p1<<2|l2>>62
	negative := p0>>63 != 0
	if negative { // more than one half: the next quarter turn is nearer
		q++
		var borrow uint64
		p2, borrow = bits.Sub64(0, p2, 0)
		p1, borrow = bits.Sub64(0, p1, borrow)
		p0, _ = bits.Sub64(0, p0, borrow)
	}
	shift := 0
	for p0 == 0 && shift < 128 {
		p0, p1, p2 = p1, p2, 0
		shift += 64
	}
	z := bits.LeadingZeros64(p0)
	p0 = p0<<z | p1>>(64-z)
	p1 = p1<<z | p2>>(64-z)
	shift += z
	hi := math.Ldexp(float64(p0>>11), -53-shift)
	lo := math.Ldexp(float64((p0<<53|p1>>11)>>11), -106-shift)
	r = float64(hi * halfPiHi)
	e := math.FMA(hi, halfPiHi, -r) + (float64(hi*halfPiLo) + float64(lo*halfPiHi))
	s := r + e
	t = (r - s) + e
	r = s
	if negative {
		r, t = -r, -t
	}
	if x < 0 {
		q, r, t = -q, -r, -t
	}
	return q, r, t
}

// digitsAt returns 64 bits of 2/pi from the given bit after the point.
func digitsAt(bit int) uint64 {
	if bit <= -64 {
		return 0
	}
	if bit < 0 {
		return digits[0] >> uint(-bit)
	}
	w, s := bit/64, uint(bit%64)
	v := digits[w] << s
	if s != 0 {
		v |= digits[w+1] >> (64 - s)
	}
	return v
}
