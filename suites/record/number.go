package record

import (
	"math"

	"hilrig/rig/signal"
)

// digits is how many significant digits a number keeps: more than any
// measurement here has, and few enough that a last bit changes no digest.
const digits = 9

const (
	// mostSamples is how many single readings of a check a record keeps at most.
	mostSamples = 400
	// sampleDigits is how many significant digits they keep: a response of some ms to some us.
	sampleDigits = 4
)

// Samples returns single readings as a record keeps them: rounded to four significant digits,
// without those that are not finite, and of more than 400 so many, evenly spread over their order.
func Samples(all []float64) []float64 {
	var finite []float64
	for _, x := range all {
		if r := Number(x); r != nil {
			finite = append(finite, signal.Round(x, sampleDigits))
		}
	}
	n := len(finite)
	if n <= mostSamples {
		return finite
	}
	for i := range mostSamples {
		finite[i] = finite[i*n/mostSamples]
	}
	return finite[:mostSamples]
}

// Number returns x as a record keeps it: rounded to nine significant digits,
// without a negative zero. It is nil where x is not finite.
func Number(x float64) *float64 {
	if math.IsNaN(x) || math.IsInf(x, 0) {
		return nil
	}
	y := signal.Round(x, digits)
	return &y
}
