package law

import "hilrig/assertions/measure"

const (
	// leastCap is the lowest cap, share of range, that firmware may have whose policy says of none;
	// common practice, no source.
	leastCap = 0.6
	// mostFloor is the highest such floor; common practice, no source.
	mostFloor = 0.2
)

// limits works out what the lowest and the highest command allowed may be. Where the policy leaves
// a cap or a floor out, there may be any or none.
func (r *reckoning) limits() {
	p, s := &r.l.p, r.l.scale
	r.highest = measure.Interval{Low: leastCap, High: 1}
	if c := p.Cap; c != nil {
		r.highest.Low = 1
		steer := size(r.in.Steer)
		if steer.High+nearSteer > c.SteerAbove {
			r.highest.Low = min(c.Of, 1)
		}
		if steer.Low-nearSteer > c.SteerAbove {
			r.highest.High = r.highest.Low
		}
	}
	r.lowest = measure.Interval{Low: s.Lowest, High: s.Lowest}
	f := p.Floor
	if f == nil {
		r.lowest.High = max(min(mostFloor, r.in.Throttle.High+s.Step), s.Lowest)
	} else {
		r.lowest.High = max(r.stops(*f), s.Lowest)
		if r.in.Throttle.Low-s.Step >= *f && r.reaches(*f) {
			r.lowest.Low = r.lowest.High
		}
	}
}

// reaches says whether the motors surely come to the floor with nothing shifted, as far as the policy says what the firmware makes
// of the throttle: by a calibrated curve a throttle above the floor may still leave them at idle, as in a dead zone, or below the
// floor just beyond it, and while that curve is not measured any may.
func (r *reckoning) reaches(floor float64) bool {
	if r.l.p.ThrottleCurve != ThrottleCurveCalibrated {
		return true
	}
	near := floor - r.l.scale.Step - r.l.resolution
	for i, u := range r.in.Unshifted {
		at := u.High
		if r.in.HasStood {
			at = r.in.Stood[i].Low
		}
		if unknown := u.Low <= r.l.scale.Lowest && u.High >= 1; unknown || at < near {
			return false
		}
	}
	return true
}

// stops returns the highest command below which firmware with a floor may lower no motor. With the throttle below the floor, where
// none is declared to hold, it may lower one to idle, leave it where it was with no shift, or lift it to the floor; near
// idle and where it brakes it lifts none.
func (r *reckoning) stops(floor float64) float64 {
	t := r.in.Throttle.High
	if t+r.l.scale.Step >= floor || t > nearIdle {
		return floor
	}
	for _, u := range r.in.Unshifted {
		t = max(t, u.High)
	}
	return min(floor, t)
}

// allowed returns what a command comes to within what is allowed.
func (r *reckoning) allowed(c measure.Interval) measure.Interval {
	return measure.Interval{
		Low:  max(min(c.Low, r.highest.Low), r.lowest.Low),
		High: max(min(c.High, r.highest.High), r.lowest.High),
	}
}

// cut returns what a shift is added to, the unshifted command being u: what the cap
// leaves of it, or all, or either; and where it lies below the floor, that or the floor.
func (r *reckoning) cut(u measure.Interval) measure.Interval {
	before := measure.Interval{Low: min(u.Low, r.highest.Low), High: min(u.High, r.highest.High)}
	after := measure.Interval{Low: u.Low, High: max(u.High, r.lowest.High)}
	var cut CapCut
	if c := r.l.p.Cap; c != nil {
		cut = c.Cut
	}
	switch cut {
	case CapBeforeShift:
		return measure.Interval{Low: before.Low, High: max(before.High, r.lowest.High)}
	case CapAfterShift:
		return after
	}
	return hull(before, after)
}

// still brings in that nothing is shifted: a shift up to that which counts as none.
func (r *reckoning) still() {
	for i := range r.a.Commands {
		r.none(i)
		r.a.Past[i] = false
	}
}

// none brings in that a motor is not shifted.
func (r *reckoning) none(i int) {
	u, dead := r.allowed(r.in.Unshifted[i]), r.l.dead
	by := measure.Interval{Low: -dead, High: dead}
	r.include(i, measure.Interval{Low: u.Low - dead, High: u.High + dead}, by)
	r.notes(i, r.in.Unshifted[i])
}

// include widens what may be commanded of a motor by commands, before they are limited, and by
// what they are shifted by.
func (r *reckoning) include(i int, c, by measure.Interval) {
	r.a.Commands[i] = hull(r.a.Commands[i], r.allowed(c))
	r.a.Shifts[i] = hull(r.a.Shifts[i], by)
}

// notes takes note of whether a motor, commanded c before it is limited, stands at a limit.
func (r *reckoning) notes(i int, c measure.Interval) {
	r.a.Perhaps[i] = r.a.Perhaps[i] || c.High >= r.highest.Low || c.Low <= r.lowest.High
	r.a.Surely[i] = r.a.Surely[i] && (c.Low >= r.highest.High || c.High <= r.lowest.Low)
}

// shifted returns by how much a motor's command may differ from the one with no shift, where
// without limits it would by the least and the most of by, both at least 0, in the sense of sign.
func (r *reckoning) shifted(i int, sign float64, by measure.Interval) measure.Interval {
	u := r.in.Unshifted[i]
	base := r.base[i]
	l, h := r.lowest, r.highest
	if sign > 0 {
		least := min(by.Low, max(h.Low-max(u.High, l.High), 0))
		if u.Low < l.High { // it is first lifted to the floor
			least = min(least, max(u.Low+by.Low-l.High, 0))
		}
		return measure.Interval{Low: least, High: min(by.High, max(h.High-max(u.Low, l.Low), 0))}
	}
	least := min(by.Low, max(min(u.Low, h.Low)-l.High, 0))
	if base.High > h.Low { // what lies above the cap is lowered first
		least = min(least, max(by.Low-(base.High-h.Low), 0))
	}
	most := min(by.High, max(min(u.High, h.High)-l.Low, 0))
	return measure.Interval{Low: -most, High: -least}
}
