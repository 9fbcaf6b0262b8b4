package stimulus

import "hilrig/rig/signal"

// Shape is how one value goes over time. At returns the value at t, counted from the
// shape's beginning; t may lie beyond the shape's end, where most hold their last
// value. At has no side effect and allocates nothing.
type Shape interface {
	At(t signal.Time) float64
}

// Hold keeps one value.
type Hold float64

// At returns the value.
func (h Hold) At(signal.Time) float64 { return float64(h) }

// Step keeps one value, then from a time on another.
type Step struct {
	Before, After float64
	When          signal.Time // the first time of After
}

// At returns the value at t.
func (s Step) At(t signal.Time) float64 {
	if t < s.When {
		return s.Before
	}
	return s.After
}

// Ramp goes from one value to another in a straight line, and stays there. With
// Over 0 or less it is at To at once.
type Ramp struct {
	From, To float64
	Over     signal.Time
}

// At returns the value at t.
func (r Ramp) At(t signal.Time) float64 {
	switch {
	case t >= r.Over:
		return r.To
	case t <= 0:
		return r.From
	}
	share := float64(t) / float64(r.Over)
	return float64(r.From*(1-share)) + float64(r.To*share)
}
