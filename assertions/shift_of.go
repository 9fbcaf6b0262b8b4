package assertions

import (
	"hilrig/assertions/measure"
	"hilrig/plant"
)

// Shift is how far one motor's mean command moved from its baseline, shares of
// range.
type Shift struct {
	Baseline float64 // mean in the baseline's window
	Mean     float64 // mean in the step's window
	Shift    float64 // Mean - Baseline
	Expanded float64 // half-width of Shift's interval
}

// MeasureShift reads one motor's shift in a step, for people to look at; checks
// judge the same numbers. Where it could not be read, why says so and m says nothing:
// the verdict is then Fail where the motor was silent, and Undecided where what it sent,
// if anything, could not be read.
func MeasureShift(e *Evidence, w plant.Wheel, s *Step) (m Shift, v Verdict, why string) {
	now, err := e.mean(w, s)
	var base *Step
	if err == nil {
		base, err = e.baselineOf(s)
	}
	var before measure.Estimate
	if err == nil {
		before, err = e.mean(w, base)
	}
	if err != nil {
		r := unjudged("", err)
		return m, r.Verdict, r.Why
	}
	shift := measure.Difference(now, before)
	return Shift{Baseline: before.Value, Mean: now.Value, Shift: shift.Value, Expanded: shift.Expanded()}, v, ""
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
