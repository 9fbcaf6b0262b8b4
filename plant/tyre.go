package plant

import (
	"math"

	"hilrig/plant/portable"
)

// MagicFormula returns sin(C atan(Bx - E(Bx - atan Bx))), the Magic Formula with
// peak 1 and without shifts, at the slip x.
func MagicFormula(x, b, c, e float64) float64 {
	z := float64(b * x)
	if e != 0 {
		z -= float64(e * (z - portable.Atan(z)))
	}
	return portable.Sin(c * portable.Atan(z))
}

// PeakSlip returns the positive slip at which the Magic Formula is 1; NaN when the
// curve has no peak: C of 1 or less, or E so near 1 that the peak is never reached.
func PeakSlip(b, c, e float64) float64 {
	if !(c > 1) || !(e <= 1) || !(b > 0) {
		return math.NaN()
	}
	t := portable.Tan(math.Pi / 2 / c)
	stretch := func(z float64) float64 { return z - float64(e*(z-portable.Atan(z))) }
	lo, hi := 0.0, 1.0
	for stretch(hi) < t {
		hi *= 2
		if hi > 1e9 {
			return math.NaN()
		}
	}
	// Halve until the interval is two neighbours.
	for {
		m := float64(0.5 * (lo + hi))
		if m <= lo || m >= hi {
			return hi / b
		}
		if stretch(m) < t {
			lo = m
		} else {
			hi = m
		}
	}
}

// peaks returns the slips of the peaks of the longitudinal and lateral curve.
func (t Tyre) peaks() (longitudinal, lateral float64) {
	return PeakSlip(t.LongitudinalB, t.LongitudinalC, t.LongitudinalE),
		PeakSlip(t.LateralB, t.LateralC, t.LateralE)
}

// friction returns 1 minus the loss of friction at a load, never below 0.
func (t Tyre) friction(load float64) float64 {
	if t.LoadSensitivity == 0 {
		return 1
	}
	return max(0, 1-float64(t.LoadSensitivity*(load-t.Load))/t.Load)
}
