package record

import (
	"math"

	"hilrig/rig/signal"
)

// digits is how many significant digits a number keeps: more than any
// measurement here has, and few enough that a last bit changes no digest.
const digits = 9

// Number returns x as a record keeps it: rounded to nine significant digits,
// without a negative zero. It is nil where x is not finite.
func Number(x float64) *float64 {
	if math.IsNaN(x) || math.IsInf(x, 0) {
		return nil
	}
	y := signal.Round(x, digits)
	return &y
}
