package file

import (
	"hilrig/assertions/law"
	"hilrig/suites/language"
)

// throttle works out the throttle of the steps that have the point x.
func (w *pointWork) throttle(x *language.Value) {
	p, v, throttle := &w.b.car.Policy, x.Mapping, 0.0
	switch {
	case x.Mapping.Table == throttleNear:
		throttle = w.roomNear(x, v.Number("near"))
	case v.Has("below_cap"):
		throttle = w.standing(w.belowCap(x))
	case v.Has("above_floor"):
		throttle = v.Number("above_floor")
		if p.Floor != nil {
			throttle += *p.Floor
		}
		throttle = w.standing(throttle)
	case v.Has("below_idle"):
		throttle = w.braking(v.Number("below_idle"))
	default:
		throttle = w.room(x, v.Number("room"))
	}
	for i := range w.c.Steps {
		if w.c.Steps[i].points.throttle == x {
			w.c.Steps[i].Values.Throttle = throttle
		}
	}
}

// belowCap returns the command that lies as far below the cap as x says, or without one below full. Where the four motors
// together may not come there, and a shift from below what they may come to takes one to its cap all the same, it lies below
// that; a cap before the shift is none that a shift comes to.
func (w *pointWork) belowCap(x *language.Value) float64 {
	p, below, most := &w.b.car.Policy, x.Mapping.Number("below_cap"), 1.0
	if p.Cap != nil {
		most = p.Cap.Of
	}
	if p.SumCap == nil || *p.SumCap/4 >= most || p.Cap != nil && p.Cap.Cut == law.CapBeforeShift {
		return most - below
	}
	if shift, _, unknown := w.needs(x); unknown || float64(*p.SumCap/4)-below+shift < most+clearOfTheCap {
		return most - below
	}
	return float64(*p.SumCap/4) - below
}

// clearOfTheCap is by how much more than to its cap a shift takes a motor that is to come there; common practice, no source.
const clearOfTheCap = 0.02

// braking returns the throttle that is this far below idle, where motors and receiver go so far down.
func (w *pointWork) braking(below float64) float64 {
	switch b := w.b.bench; {
	case b.lowest() >= 0:
		w.none("the bench's motors have no commands below idle")
	case !b.throttlePlays(-below):
		w.none("the receiver's throttle does not go %s below idle", language.Share.Format(rounded(below)))
	default:
		return -below
	}
	return 0
}

// standing returns the throttle at which the motors stand at a command with nothing shifted.
func (w *pointWork) standing(command float64) float64 {
	if w.b.curve == nil {
		return command
	}
	throttle, ok := w.b.curve.ThrottleFor(command)
	if !ok {
		w.none("with the throttle at 100 %% the motors stand below %s, as was measured", language.Share.Format(rounded(command)))
	}
	return throttle
}

// needs returns how much room the largest shift takes of the steps that have the point x, with what the motors may already be
// shifted by in the baseline, and by how much more is looked
// for: where the firmware may make other commands of the throttle, unknown, by more.
func (w *pointWork) needs(x *language.Value) (need, spare float64, unknown bool) {
	p, stands := &w.b.car.Policy, 0.0
	for i := range w.c.Steps {
		s := &w.c.Steps[i]
		switch {
		case s.points.throttle != x:
		case s.Baseline: // from where it stands the others are shifted
			stands = s.shiftOnDemand(w.l, p)
		default:
			need = max(need, s.shift(w.l, p))
		}
	}
	if need > 0 {
		need += stands
	}
	if p.ThrottleCurve != law.ThrottleCurveNone && w.b.curve == nil {
		return need, unknownSpare, true
	}
	return need, roomSpare, false
}

// wanted is a room that a throttle is looked for with.
type wanted struct {
	room    float64
	anyEnds bool // also where a cap or floor that the policy does not have may be
}

// found returns the throttles from least to most that have the first of the rooms that any has.
func (w *pointWork) found(need float64, rooms ...wanted) (least, most float64, ok bool) {
	for _, try := range rooms {
		if least, most, ok = w.l.ThrottleWithRoom(try.room, w.b.curve, try.anyEnds); ok {
			return least, most, true
		}
	}
	w.noRoom = true
	w.none("the policy asks for a shift of up to %s there, and no throttle leaves so much room between floor and cap", language.Share.Format(rounded(need)))
	return 0, 0, false
}

// spareSteps is in how many steps the spare is given up where no throttle has all of it.
const spareSteps = 5

// spared returns rooms from what a shift needs with its spare down to what it needs, all at least so much.
func spared(need, spare, least float64) (all []wanted) {
	for k := range spareSteps + 1 {
		room := max(need*(spare-float64(k)*(spare-1)/spareSteps), least)
		all = append(all, wanted{room, true}, wanted{room, false})
	}
	return all
}

// room returns the throttle with at least that much room, and with as much as the steps' shifts need: the least, or where
// the firmware may make other commands of the throttle the one amid all that have it.
func (w *pointWork) room(x *language.Value, asked float64) float64 {
	need, spare, unknown := w.needs(x)
	much := max(asked, spare*need)
	enough := max(need, min(asked, leastRoom))
	rooms := append([]wanted{{much, true}, {max(enough, spare*need), true}, {much, false}}, spared(need, spare, enough)...)
	least, most, ok := w.found(need, rooms...)
	switch {
	case !ok:
		return usualThrottle
	case unknown:
		return (least + most) / 2
	}
	return least
}

// roomNear returns the throttle nearest to the one that is asked for with as much room as the steps' shifts need.
func (w *pointWork) roomNear(x *language.Value, asked float64) float64 {
	need, spare, _ := w.needs(x)
	rooms := spared(need, spare, leastRoom)
	if need == 0 {
		rooms = append([]wanted{{unsizedRoom, true}, {unsizedRoom, false}}, rooms...)
	}
	least, most, ok := w.found(need, rooms...)
	if !ok {
		return usualThrottle
	}
	return min(max(asked, least), most)
}

const (
	// roomSpare times what the largest shift takes is the room that is looked for.
	roomSpare = 1.1
	// unknownSpare is that where the firmware may make other commands of the throttle.
	unknownSpare = 1.5
	// leastRoom is made do with where there is no throttle with the room that is asked for.
	leastRoom = 0.1
	// unsizedRoom is looked for near a throttle where the policy does not say how large a shift gets.
	unsizedRoom = 0.25
)
