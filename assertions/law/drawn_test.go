package law_test

import (
	"math"
	"math/rand/v2"

	"hilrig/assertions/law"
	"hilrig/assertions/measure"
)

const deg = 3.14159265358979323846 / 180

func maybe(r *rand.Rand) bool { return r.IntN(2) == 0 }

// some returns a pointer to a value from low to high, or nil.
func some(r *rand.Rand, low, high float64) *float64 {
	if maybe(r) {
		return nil
	}
	x := span(r, low, high)
	return &x
}

// wordOf draws one of n words, or that none is declared.
func wordOf[W ~uint8](r *rand.Rand, n int) W { return W(r.IntN(n + 1)) }

// drawnPolicy draws a policy of any school.
func drawnPolicy(r *rand.Rand) *law.Policy {
	p := &law.Policy{
		TurnFrom: wordOf[law.TurnFrom](r, 3), OppositeLock: wordOf[law.OppositeLock](r, 4), OppositeLockShare: span(r, 0, 1),
		DeadShift: 0.03 * r.Float64(), AtTheLimit: wordOf[law.AtTheLimit](r, 4), Braking: wordOf[law.Braking](r, 1), Reverse: wordOf[law.Reverse](r, 3),
		SumCap: some(r, 0.5, 4), Floor: some(r, 0, 0.2), TractionControl: some(r, 0.05, 0.5), DeadBand: some(r, 0, 20*deg),
		MotorsEqualWithin: some(r, 0, 0.03), Resolution: some(r, 0.001, 0.02), ThrottleCurve: law.ThrottleCurveNone,
	}
	if r.IntN(3) == 0 {
		p.AtTheCap, p.AtTheFloor = wordOf[law.AtTheLimit](r, 4), wordOf[law.AtTheLimit](r, 4)
	}
	if r.IntN(8) > 0 {
		p.Demand = &law.Demand{Wheelbase: span(r, 0.2, 0.6), UndersteerGradient: span(r, -0.002, 0.006), SpeedFrom: wordOf[law.SpeedFrom](r, 7), Within: span(r, 0, 0.15)}
		if maybe(r) {
			p.Demand.LateralLimit = span(r, 2, 20)
		}
		if maybe(r) {
			p.Demand.YawLimit = span(r, 1, 5)
		}
		if maybe(r) {
			p.Demand.SteerRate = span(r, 0, 0.05)
		}
	}
	if r.IntN(8) > 0 {
		p.Understeer = drawnSplit(r)
	}
	if r.IntN(8) > 0 {
		p.Oversteer = drawnSplit(r)
	}
	if r.IntN(8) > 0 {
		p.ShiftAt = &law.ShiftAt{Error: span(r, 20*deg, 90*deg), Gain: span(r, 0.2, 1), Is: span(r, 0.02, 0.3), Within: span(r, 0, 0.3), Grows: wordOf[law.Growth](r, 3)}
		if maybe(r) {
			p.ShiftAt.Most = span(r, p.ShiftAt.Is, 0.5)
		}
	}
	if maybe(r) {
		p.Straight = &law.Straight{}
		if maybe(r) {
			p.Straight.Steer = drawnFade(r, 0, 4*deg)
		}
		if maybe(r) {
			p.Straight.Demand = drawnFade(r, 0, 30*deg)
		}
	}
	if maybe(r) {
		p.Standstill = drawnFade(r, 0, 2)
	}
	if r.IntN(3) == 0 {
		p.GainSteps = []float64{0, 0.5, 1}
	}
	if maybe(r) {
		p.Cap = &law.Cap{Of: span(r, 0.5, 1), SteerAbove: span(r, 0, 5*deg), Cut: wordOf[law.CapCut](r, 2)}
	}
	return p
}

func drawnFade(r *rand.Rand, low, high float64) *law.Fade {
	from := span(r, low, high)
	if maybe(r) {
		return &law.Fade{From: from, Full: from}
	}
	return &law.Fade{From: from, Full: span(r, from, high)}
}

// drawnSplit draws whom a branch raises and lowers: places, each once.
func drawnSplit(r *rand.Rand) *law.Split {
	order := r.Perm(4)
	place := func(k int) law.Corner { return law.Places[order[k]] }
	s := &law.Split{}
	switch r.IntN(4) {
	case 0:
		s.Raise, s.Lower = []law.Corner{place(0)}, []law.Corner{place(1)}
	case 1:
		s.Raise = []law.Corner{place(0), place(1)}
	case 2:
		s.Raise, s.Lower = []law.Corner{place(0), place(1)}, []law.Corner{place(2)}
	case 3:
		s.Raise, s.Lower = []law.Corner{place(0), place(1)}, []law.Corner{place(2), place(3)}
	}
	switch r.IntN(3) {
	case 0:
		s.Front, s.Rear = span(r, 0.2, 1.5), span(r, 0.2, 1.5)
	case 1:
		s.Varies = true
	}
	return s
}

// drawnPoint draws one moment's inputs, those where something changes included.
func drawnPoint(r *rand.Rand, p *law.Policy, scale law.Scale) point {
	x := point{steer: span(r, -30*deg, 30*deg), steerRate: span(r, -5, 5), speed: span(r, 0, 10), yaw: span(r, -4, 4), throttle: span(r, 0, 1), gain: span(r, 0, 1)}
	if scale.Lowest < 0 && r.IntN(4) == 0 {
		x.throttle = span(r, -1, 0)
	}
	switch r.IntN(8) {
	case 0:
		x.speed = -x.speed
	case 1:
		x.speed *= 0.2
	}
	switch r.IntN(8) {
	case 0:
		x.steer = 0
	case 1:
		x.steer *= 0.1
	}
	if x.hasWheels = maybe(r); x.hasWheels {
		for i := range x.wheels {
			x.wheels[i] = x.speed + span(r, -0.5, 0.5)
		}
	}
	switch d := p.Demand; {
	case d == nil:
	case r.IntN(3) > 0: // somewhere about the demand
		x.yaw = d.YawRate(x.speed, x.steer) * span(r, 0, 2)
	case r.IntN(4) == 0:
		x.yaw = d.YawRate(x.speed, x.steer)
	case r.IntN(4) == 0:
		x.yaw = span(r, -1e-14, 1e-14)
	}
	if !(math.Abs(x.yaw) < 1e3) { // at the critical speed the formula has no answer
		x.yaw = 1
	}
	return x
}

// around returns inputs that hold a point.
func around(r *rand.Rand, x *point, l *law.Law) law.Inputs {
	in := law.Inputs{
		Steer: interval(r, x.steer, 3*deg), SteerRate: interval(r, x.steerRate, 1), Speed: interval(r, x.speed, 1), YawRate: interval(r, x.yaw, 0.5),
		Throttle: interval(r, x.throttle, 0.2), Gain: interval(r, x.gain, 0.2), HasWheels: x.hasWheels,
	}
	for i, w := range x.wheels {
		in.Wheels[i] = interval(r, w, 0.5)
	}
	in.Unshifted, _ = l.FromThrottle(in.Throttle)
	return in
}

// exactly returns the inputs that are a point.
func exactly(x *point, l *law.Law) law.Inputs {
	at := func(x float64) measure.Interval { return measure.Interval{Low: x, High: x} }
	in := law.Inputs{Steer: at(x.steer), SteerRate: at(x.steerRate), Speed: at(x.speed), YawRate: at(x.yaw), Throttle: at(x.throttle), Gain: at(x.gain), HasWheels: x.hasWheels}
	for i, w := range x.wheels {
		in.Wheels[i] = at(w)
	}
	in.Unshifted, _ = l.FromThrottle(in.Throttle)
	return in
}
