package law

import (
	"math"

	"hilrig/assertions/measure"
)

// ask works out the shifts, forwards and backwards.
func (r *reckoning) ask() {
	v := r.speed
	if v.High >= 0 {
		r.rolls(measure.Interval{Low: max(v.Low, 0), High: v.High}, false)
	}
	if v.Low < 0 {
		r.rolls(measure.Interval{Low: v.Low, High: min(v.High, 0)}, true)
	}
}

// rolls works out the shifts at speeds of one sign.
func (r *reckoning) rolls(speed measure.Interval, reverse bool) {
	p := &r.l.p
	gain, fade := r.l.gain(r.in.Gain), r.l.rolling(speed)
	r.open(fade, NearStandstill)
	if gain.Low <= 0 && gain.High > 0 {
		r.a.Open |= GainOpen
	}
	demand, ok := measure.Interval{Low: math.Inf(-1), High: math.Inf(1)}, false
	if p.Demand != nil {
		if d, has := r.demand(speed); has {
			demand, ok = r.kicked(d), true
		}
	}
	fade = both(fade, r.driving())
	turning := r.turning(demand)
	r.open(turning, NearStraight)
	fade = both(fade, turning)
	if reverse && p.Reverse == ReverseNoShift {
		fade = measure.Interval{}
	}
	still := fade.High == 0 || gain.High == 0
	switch {
	case still:
		r.still()
	case reverse && p.Reverse == 0:
		r.missing("reverse")
	case r.in.Throttle.Low < 0 && p.Braking == 0:
		r.missing("braking")
	case p.Understeer == nil && p.Oversteer == nil:
		r.missing("understeer")
	case !ok:
		r.missing("demand")
	}
	if !ok || r.a.Missing != "" && !still {
		return
	}
	x := asked{gain: gain, fade: fade, reverse: reverse, still: still, standing: demand}
	if p.Demand.SteerRate != 0 {
		rate := r.in.SteerRate
		r.in.SteerRate = measure.Interval{}
		if d, has := r.demand(speed); has {
			x.standing = d
		}
		r.in.SteerRate = rate
	}
	r.quadrants(x, demand)
}

// kicked returns a demand with what a derivative of the yaw error may add to it: where error moves, it leads or overshoots.
func (r *reckoning) kicked(demand measure.Interval) measure.Interval {
	most := r.in.Derivative * (demand.Width() + r.yaw.Width())
	return measure.Interval{Low: demand.Low - most, High: demand.High + most}
}

// open notes why there may be a shift or none, if a fade leaves that open.
func (r *reckoning) open(fade measure.Interval, why Reasons) {
	if fade.Low < fade.High {
		r.a.Open |= why
	}
}

// asked is what a shift goes by beside the yaw error.
type asked struct {
	gain, fade measure.Interval
	reverse    bool
	still      bool             // there is none, whatever the yaw error
	standing   measure.Interval // the demand with the steering as it stands, and nothing fed forward of its rate
}

// withTheTurn says whether the steering as it stands asks for a turn to the side of the yaw rate.
func (x *asked) withTheTurn(yaw measure.Interval) bool {
	return x.standing.High > 0 && yaw.Low >= 0 || x.standing.Low < 0 && yaw.High <= 0
}

// quadrants works out the shifts for each sign of the demand and of the yaw rate.
func (r *reckoning) quadrants(x asked, demand measure.Interval) {
	yaw := r.yaw
	if demand.High >= 0 {
		d := measure.Interval{Low: max(demand.Low, 0), High: demand.High}
		if yaw.High >= 0 {
			r.together(x, d, measure.Interval{Low: max(yaw.Low, 0), High: yaw.High})
		}
		if yaw.Low < 0 && d.High > 0 {
			r.against(x, d, measure.Interval{Low: yaw.Low, High: min(yaw.High, 0)})
		}
	}
	if demand.Low <= 0 {
		d := measure.Interval{Low: demand.Low, High: min(demand.High, 0)}
		if yaw.Low <= 0 {
			r.together(x, d, measure.Interval{Low: yaw.Low, High: min(yaw.High, 0)})
		}
		if yaw.High > 0 && d.Low < 0 {
			r.against(x, d, measure.Interval{Low: max(yaw.Low, 0), High: yaw.High})
		}
	}
}

// together works out the shifts where demand and yaw rate have one sign: the branch goes by
// which is the larger.
func (r *reckoning) together(x asked, demand, yaw measure.Interval) {
	d, y := size(demand), size(yaw)
	if x.reverse && r.l.eitherSign && d.High > 0 && y.High > 0 {
		r.withoutASign(x, demand, yaw)
	}
	under, over := d.High > y.Low, y.High > d.Low
	if under {
		r.shifts(Understeer, x, demand, yaw, measure.Interval{Low: max(d.Low-y.High, 0), High: d.High - y.Low})
	}
	if over {
		r.shifts(Oversteer, x, demand, yaw, measure.Interval{Low: max(y.Low-d.High, 0), High: y.High - d.Low})
	}
	switch {
	case under == over:
		r.branches[OnDemand] = true
		r.still()
	case under:
		r.branches[Understeer] = true
	case over:
		r.branches[Oversteer] = true
	}
}

// against works out the shifts under opposite lock.
func (r *reckoning) against(x asked, demand, yaw measure.Interval) {
	if x.reverse {
		r.againstInReverse(x, demand, yaw)
		return
	}
	r.locked(x, demand, yaw)
}

// locked works out the shifts of what the firmware takes for opposite lock.
func (r *reckoning) locked(x asked, demand, yaw measure.Interval) {
	d, y := size(demand), size(yaw)
	r.branches[OppositeLocked] = true
	if x.still {
		return
	}
	yawError := measure.Interval{Low: d.Low + y.Low, High: d.High + y.High}
	if x.withTheTurn(yaw) { // by the rate of the steering alone the demand is to the other side: the driver steers with the turn
		r.shifts(Understeer, x, demand, yaw, yawError)
		r.shifts(Oversteer, x, demand, yaw, yawError)
	}
	share := measure.Interval{Low: 1, High: 1}
	split := Oversteer
	switch r.l.p.OppositeLock {
	case OppositeLockOversteer:
	case OppositeLockUndersteer:
		split = Understeer
	case OppositeLockNoShift:
		r.still()
		return
	case OppositeLockShare:
		s := r.l.p.OppositeLockShare
		share = measure.Interval{Low: s, High: s}
	default:
		r.missing("opposite_lock")
		return
	}
	x.fade = both(x.fade, share)
	r.shifts(split, x, demand, yaw, yawError)
}

// withoutASign works out the shifts of firmware that takes its speed without a sign, while the car rolls backwards and demand and
// yaw rate have one sign: its own demand has the other one, which to it is opposite lock.
func (r *reckoning) withoutASign(x asked, demand, yaw measure.Interval) {
	if r.l.p.OppositeLock == 0 {
		r.againstInReverse(x, demand, yaw)
		return
	}
	x.standing = measure.Interval{Low: -x.standing.High, High: -x.standing.Low}
	r.locked(x, measure.Interval{Low: -demand.High, High: -demand.Low}, yaw)
}

// againstInReverse works out the shifts while the car rolls backwards and demand and yaw rate have opposite signs. No word of
// the policy says what that is: firmware may go by the sizes of the two, by their difference, or take it for opposite lock.
func (r *reckoning) againstInReverse(x asked, demand, yaw measure.Interval) {
	yawError := measure.Interval{High: size(demand).High + size(yaw).High}
	r.branches[OnDemand] = true
	r.shifts(Understeer, x, demand, yaw, yawError)
	r.shifts(Oversteer, x, demand, yaw, yawError)
	r.still()
}

// shifts works out the shifts of one branch, in turns to each side that it may be.
func (r *reckoning) shifts(b Branch, x asked, demand, yaw, yawError measure.Interval) {
	split, of, key := r.l.p.Understeer, 0, "understeer"
	if b == Oversteer {
		split, of, key = r.l.p.Oversteer, 1, "oversteer"
	}
	amount := r.l.amount(yawError, x.gain, x.fade)
	switch {
	case x.still:
		return
	case amount.High == 0:
		r.still()
		return
	case split == nil:
		r.missing(key)
		return
	}
	at := r.sides(demand, yaw, x.reverse)
	if at == toEither && r.l.turned != 0 {
		at = r.l.turned
	}
	r.why(x, yawError, amount, at)
	mirrored := x.reverse && r.l.p.Reverse == ReverseMirrored
	for side := range 2 {
		if at&(1<<side) == 0 {
			continue
		}
		m := r.l.moves[of][side]
		if mirrored {
			m = m.endForEnd()
		}
		r.move(&m, amount)
	}
}

// endForEnd returns what the moves are with front and rear exchanged.
func (m moves) endForEnd() moves {
	s, h := m.signs, m.shares
	return moves{signs: [4]float64{s[2], s[3], s[0], s[1]}, shares: [4]measure.Interval{h[2], h[3], h[0], h[1]}}
}

// why notes why a branch's shift may be there or not.
func (r *reckoning) why(x asked, yawError, amount measure.Interval, at sides) {
	band := r.l.p.DeadBand
	switch {
	case yawError.Low <= 0:
		r.a.Open |= NearDemand
	case band != nil && yawError.Low <= *band:
		r.a.Open |= InDeadBand
	case !r.l.sized() || amount.Low <= 0 && x.fade.Low > 0 && x.gain.Low > 0:
		r.a.Open |= SizeOpen
	case amount.Low < r.l.dead:
		r.a.Open |= SmallShift
	}
	if at == toEither {
		r.a.Open |= SideOpen
	}
}
