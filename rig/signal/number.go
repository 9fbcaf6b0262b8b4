package signal

import (
	"math"
	"strconv"
)

// Round returns x with that many significant decimal digits, 1 to 17. Zero,
// infinities and what is not a number are returned as they are, negative zero
// as zero.
func Round(x float64, digits int) float64 {
	if x == 0 || math.IsNaN(x) || math.IsInf(x, 0) {
		return x + 0
	}
	written := strconv.FormatFloat(x, 'e', min(max(digits, 1), 17)-1, 64)
	r, err := strconv.ParseFloat(written, 64)
	if err != nil { // rounded up past the largest number
		return x
	}
	return r
}

// Digits writes x with at most that many significant digits, 1 to 17, and with a power of
// ten only from 1e15 on and below 1e-6.
func Digits(x float64, digits int) string {
	x = Round(x, digits)
	if a := math.Abs(x); a >= 1e15 || a != 0 && a < 1e-6 {
		return strconv.FormatFloat(x, 'g', -1, 64)
	}
	return strconv.FormatFloat(x, 'f', -1, 64)
}

// Short writes t with three significant digits in the unit that suits it, "400 ms" or "1.6 s".
func (t Time) Short() string {
	unit, name := Nanosecond, "ns"
	switch size := max(t, -t); {
	case size >= Second:
		unit, name = Second, "s"
	case size >= Millisecond || t == 0:
		unit, name = Millisecond, "ms"
	case size >= Microsecond:
		unit, name = Microsecond, "us"
	}
	return Digits(float64(t)/float64(unit), 3) + " " + name
}
