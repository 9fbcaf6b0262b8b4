package assertions

import "hilrig/plant"

// Shift is how far one motor's mean command moved from its baseline, shares of
// range.
type Shift struct {
	Baseline float64 // mean in the baseline's window
	Mean     float64 // mean in the step's window
	Shift    float64 // Mean - Baseline
	Expanded float64 // half-width of Shift's interval
	Frames   int     // command frames in the step's window; with fewer than 3 the rest is 0
}

// MeasureShift reads one motor's shift in a step, for people to look at; checks
// judge the same numbers. Where there is no baseline, Baseline and Shift are 0.
func MeasureShift(e *Evidence, w plant.Wheel, s *Step) Shift {
	m := Shift{Frames: len(e.frames(w, s))}
	if now, b := e.mean(w, s); !b.is() {
		m.Mean = now.Value
	}
	base, ok := e.Baseline()
	if !ok || base == s {
		return m
	}
	if before, b := e.mean(w, base); !b.is() {
		m.Baseline = before.Value
	}
	if shift, b := e.shift(w, s, base); !b.is() {
		m.Shift, m.Expanded = shift.Value, shift.Expanded()
	}
	return m
}

// PlaceOf returns the place in the turn of a wheel; its own name where turn is 0.
func PlaceOf(w plant.Wheel, turn int) Corner {
	if turn != 0 {
		for _, c := range []Corner{OutsideFront, InsideFront, OutsideRear, InsideRear} {
			if at, _ := c.Wheel(turn); at == w {
				return c
			}
		}
	}
	return Corner(w.String())
}

// SituationOf names what a demand and a yaw rate in rad/s make together.
func SituationOf(demand, yawRate float64) string {
	switch {
	case demand == yawRate:
		return "on demand"
	case demand*yawRate < 0:
		return "opposite lock"
	case abs(yawRate) < abs(demand):
		return "understeer"
	}
	return "oversteer"
}

func abs(x float64) float64 { return max(x, -x) }
