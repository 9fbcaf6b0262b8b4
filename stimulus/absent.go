package stimulus

import (
	"math"

	"hilrig/rig/signal"
)

// Absent is the shape of an override that is not there: its value is NaN, and
// what it would override holds instead.
type Absent struct{}

// At returns NaN.
func (Absent) At(signal.Time) float64 { return math.NaN() }
