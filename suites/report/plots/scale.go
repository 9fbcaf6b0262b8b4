package plots

import (
	"math"

	"hilrig/rig/signal"
)

// Scale is an axis: a range of values between two round ones, with a tick every Step.
type Scale struct{ Low, High, Step float64 }

// ScaleOf returns the scale that holds all values but those that are no number, with about so many steps.
func ScaleOf(steps float64, values ...float64) Scale {
	low, high := math.Inf(1), math.Inf(-1)
	for _, x := range values {
		if !math.IsNaN(x) && !math.IsInf(x, 0) {
			low, high = min(low, x), max(high, x)
		}
	}
	if math.IsInf(low, 1) {
		low, high = 0, 0
	}
	if !(high > low) || high-low < 1e-12*math.Abs(high) {
		low, high = low-0.5, high+0.5
	}
	step := math.Pow(10, math.Floor(math.Log10((high-low)/steps)))
	for _, f := range []float64{2, 2.5, 2} { // 1, 2, 5, 10 times a power of ten
		if (high-low)/step > steps {
			step *= f
		}
	}
	return Scale{math.Floor(low/step+1e-9) * step, math.Ceil(high/step-1e-9) * step, step}
}

// Ticks returns the values of the ticks, ascending.
func (s Scale) Ticks() []float64 {
	var all []float64
	for i := range int(math.Round((s.High-s.Low)/s.Step)) + 1 {
		all = append(all, s.Low+float64(float64(i)*s.Step))
	}
	return all
}

// within returns the ticks that lie in the range, for a scale whose ends are not round.
func (s Scale) within() []float64 {
	var all []float64
	for i := math.Ceil(s.Low/s.Step - 1e-9); i*s.Step <= s.High+1e-9*s.Step; i++ {
		all = append(all, float64(i*s.Step))
	}
	return all
}

// At returns where a value lies on the scale, 0 at its low end and 1 at its high one.
func (s Scale) At(value float64) float64 { return (value - s.Low) / (s.High - s.Low) }

// Number writes a tick's value.
func (s Scale) Number(value float64) string {
	if math.Abs(value) < s.Step/1e6 {
		value = 0
	}
	return signal.Digits(value, 4)
}
