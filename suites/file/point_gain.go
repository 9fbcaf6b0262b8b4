package file

import (
	"math"

	"hilrig/suites/language"
)

// nearestStep returns the step of a switch that is nearest to a gain, of two the higher, and not 0
// unless the gain is; the gain itself without steps.
func nearestStep(steps []float64, gain float64) float64 {
	best := gain
	for i, s := range steps {
		if i == 0 || best == 0 && gain > 0 || math.Abs(s-gain) <= math.Abs(best-gain) {
			best = s
		}
	}
	return best
}

// gainBeside works out the gain of the steps that have the point x, which lies off a position of the trim towards the next one.
func (w *pointWork) gainBeside(x *language.Value) {
	steps, off := w.b.car.Policy.GainSteps, x.Mapping.Number("off")
	from := int(x.Mapping.Whole("position")) - 1
	to := from + 1
	if off < 0 {
		to = from - 1
	}
	if from < 0 || to < 0 || max(from, to) >= len(steps) {
		w.noPosition = true
		w.none("by the policy's gain_steps the trim is no switch that has a position %d and one to that side of it", from+1)
		return
	}
	w.setGain(x, steps[from]+float64(math.Abs(off)*(steps[to]-steps[from])))
}

// gainNear works out the gain of the steps that have the point x: the one that is asked for, or where no throttle
// leaves their largest shift the room that it takes, as much as leaves it.
func (w *pointWork) gainNear(x *language.Value) {
	known := w.b.car.Policy.KnownGains()
	gain := nearestStep(known, x.Mapping.Number("near"))
	w.setGain(x, gain)
	if !w.throttleIsPoint(x) {
		return
	}
	room := w.largestRoom()
	for range gainTries {
		need := w.shiftWith(x)
		if need <= room {
			return
		}
		less := lesserStep(known, gain, gain*room/need)
		if less >= gain || less <= 0 {
			return
		}
		gain = less
		w.setGain(x, gain)
	}
}

// gainTries is how often a smaller gain is tried: a shift that has a bound does not go down with the gain at once.
const gainTries = 40

// lesserStep returns a gain below one, where the trim is a switch the greatest of its steps that is less than that and at most
// what is looked for, or the least above none; 0: there is none.
func lesserStep(known []float64, than, lookedFor float64) (gain float64) {
	if len(known) == 0 {
		return math.Floor(100*lookedFor) / 100
	}
	for _, step := range known {
		if step > 0 && step < than && (gain == 0 || step <= lookedFor) {
			gain = step
		}
	}
	return gain
}

// throttleIsPoint says whether the throttle of all steps with the gain x whose yaw rate asks for something is worked out
// by the room that it leaves.
func (w *pointWork) throttleIsPoint(x *language.Value) bool {
	any := false
	for i := range w.c.Steps {
		s := &w.c.Steps[i]
		if s.points.gain != x || s.Baseline || s.Values.Throttle == 0 {
			continue
		}
		t := s.points.throttle
		if t == nil || t.Mapping.Table != throttleNear && t.Mapping.Table != throttleRoom {
			return false
		}
		any = true
	}
	return any
}

// shiftWith returns the room that the largest shift of the steps with the gain x takes, and what is spared beside it.
func (w *pointWork) shiftWith(x *language.Value) (need float64) {
	for i := range w.c.Steps {
		if s := &w.c.Steps[i]; s.points.gain == x && !s.Baseline {
			need = max(need, s.shift(w.l, &w.b.car.Policy))
		}
	}
	return roomSpare * need
}

// largestRoom returns the most room that any throttle leaves both to the floor and to the cap.
func (w *pointWork) largestRoom() float64 {
	for room := 50; room > 0; room-- {
		if _, _, ok := w.l.ThrottleWithRoom(float64(room)/100, w.b.curve, true); ok {
			return float64(room) / 100
		}
	}
	return 0
}
