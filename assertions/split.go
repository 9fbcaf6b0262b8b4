package assertions

import (
	"cmp"
	"fmt"
	"math"
	"slices"

	"hilrig/assertions/law"
	"hilrig/assertions/measure"
	"hilrig/plant"
	"hilrig/rig/signal"
)

// clearMultiple is how many dead shifts a declared size has to be before it is held
// against the measured one.
const clearMultiple = 3

// sizeUndeclared stands for the size of a shift, a share of range, where the policy declares none.
const sizeUndeclared = 0.2

// side is one motor with the sense in which it should move.
type side struct {
	corner law.Corner
	is     Sense
}

// sides lists all four motors of a split: those raised and those lowered in
// the policy's order, then the others by their place in the turn, or by wheel
// where the car goes straight.
func (b *branch) sides(split *law.Split) []side {
	turn := b.s.Turn(b.p)
	var all []side
	var listed []plant.Wheel
	add := func(corners []law.Corner, is Sense) {
		for _, c := range corners {
			w, ok := c.Wheel(turn)
			if !ok || !slices.Contains(listed, w) {
				listed = append(listed, w)
				all = append(all, side{c, is})
			}
		}
	}
	if split != nil {
		add(split.Raise, Raised)
		add(split.Lower, Lowered)
	}
	others := law.Places
	if turn == 0 {
		others = law.Corners[:4]
	}
	add(others, Unchanged)
	return all
}

// sized says whether the policy declares how far a shift goes, in proportion to the yaw error.
func sized(p *law.Policy) bool {
	at := p.ShiftAt
	return at != nil && at.Error > 0 && at.Gain > 0 && (at.Grows == 0 || at.Grows == law.GrowthProportional)
}

// split plans a situation in which torque is to be shifted, or not, as the law says.
func (b *branch) split(split *law.Split) []ask {
	if why := b.otherThrottle(); why != "" {
		return b.notAsked(why)
	}
	if b.p.Straight == nil && b.s.Steer == 0 && b.s.Speed != 0 {
		return b.notAsked("the policy has no straight, which says whether there is a shift with the wheels straight")
	}
	d, view := b.meant(b.s), &view{}
	if d.missing != "" {
		return b.notAsked("the policy has no " + d.missing)
	}
	var senses, sizes []ask
	moved := false
	for _, m := range b.sides(split) {
		w, ok := m.corner.Wheel(b.s.Turn(b.p))
		if !ok {
			senses = append(senses, b.noMotor(m))
			continue
		}
		is, asked := b.sense(&d, split, w, m.is)
		if asked {
			moved = moved || is != Unchanged
			senses = append(senses, b.senseOf(view, side{m.corner, is}))
		}
		if is != Unchanged && sized(b.p) {
			sizes = append(sizes, b.sizeOf(view, side{m.corner, is}))
		}
	}
	together := b.together(view, &d, split)
	if !moved {
		if d.widest() == 0 { // as at a step of the trim that is 0
			return b.noShift()
		}
		if either := b.eitherSide(&d); either != nil {
			return either
		}
		if ways := b.oneWay(view, &d); ways != nil {
			senses = ways
		} else if together == nil {
			return b.noClearShift(&d)
		}
		if together == nil {
			return senses
		}
	}
	senses = append(append(senses, together...), b.axles(view, &d, split)...)
	if b.p.SumKept && b.sumKept(&d) {
		senses = append(senses, b.sumOf(view))
	}
	return append(senses, sizes...)
}

// sense returns how a motor has to move as far as the law says, that of the split being is; ok is
// false where it may move as the split says or not at all.
func (b *branch) sense(d *declared, split *law.Split, w plant.Wheel, is Sense) (Sense, bool) {
	t := b.e.deadShift()
	if clear, ok := d.asked(w, t); ok {
		return clear, true
	}
	if still(d.bare[w]) {
		return Unchanged, true
	}
	// Where no size is declared, there is one all the same wherever the law has any: a policy that
	// declares a branch is not kept by doing nothing, unless for another reason than the size.
	switch at := b.p.ShiftAt; {
	case d.open&^law.OfSize != 0:
		return is, false
	case d.perhaps[w] && b.mayStayAtLimit(is):
		return is, false
	case is != Unchanged && b.gatheredTo(split.ShareOf(w)):
		return is, !mayStayByItsShare(split, is) && (d.bare[w].Low >= -little && is == Raised || d.bare[w].High <= little && is == Lowered)
	case is == Unchanged, at != nil && at.Grows == law.GrowthIntegrating, at != nil && at.Error > 0 && at.Grows != law.GrowthSaturating:
		return is, false
	case is == Raised && d.bare[w].Low >= -little && d.shifts[w].High > clearMultiple*t,
		is == Lowered && d.bare[w].High <= little && d.shifts[w].Low < -clearMultiple*t:
		return is, b.surelyMoves(split, w, is)
	}
	return is, false
}

// leastLazily is how many times the shift that counts as none the laziest firmware has to come to whose shift is declared
// to saturate, for there to be one; common practice, no source.
const leastLazily = 1.5

// surelyMoves says whether a motor that a split moves in that sense is moved by a firmware whose shift is declared to
// grow ever less with the yaw error, or of which no size is declared.
func (b *branch) surelyMoves(split *law.Split, w plant.Wheel, is Sense) bool {
	if mayStayByItsShare(split, is) {
		return false
	}
	at, t := b.p.ShiftAt, b.e.deadShift()
	if at == nil || !(at.Error > 0) { // the whole shift is a clear one
		return clearMultiple*t*b.oppositeShare()*split.ShareOf(w) >= leastLazily*t
	}
	x, ok := b.expected()
	x *= 1 - at.Within
	if at.Most > 0 { // x/(1 + x/m), with m the bound of the full shift, is the laziest common way
		most := at.Most * b.oppositeShare()
		x *= most / (x + most)
	}
	return ok && x*split.ShareOf(w) >= leastLazily*t
}

// mayStayByItsShare says whether the shares of motors go with something, so that one of several that a split moves in that sense may
// stay.
func mayStayByItsShare(split *law.Split, is Sense) bool {
	return split != nil && split.Varies && (is == Raised && len(split.Raise) > 1 || is == Lowered && len(split.Lower) > 1)
}

// oppositeShare returns what share of a shift the policy asks for in the step: less than 1 under opposite lock, where it says so.
func (b *branch) oppositeShare() float64 {
	if b.p.OppositeLock == law.OppositeLockShare && b.s.situation() == oppositeLock {
		return b.p.OppositeLockShare
	}
	return 1
}

// mayStayAtLimit says whether by the policy a motor whose shift would take it past its end need not be shifted at all.
func (b *branch) mayStayAtLimit(is Sense) bool {
	word := b.wordAt(is)
	return is != Unchanged && (word == 0 || word == law.LimitPartnerOnly)
}

// wordAt returns the policy's word for motors that are limited as they are raised or lowered, 0 where it has none.
func (b *branch) wordAt(is Sense) law.AtTheLimit {
	if is == Lowered {
		return cmp.Or(b.p.AtTheFloor, b.p.AtTheLimit)
	}
	return cmp.Or(b.p.AtTheCap, b.p.AtTheLimit)
}

// bounded says whether the policy declares how far a shift may go.
func (b *branch) bounded() bool { return sized(b.p) || b.p.ShiftAt != nil && b.p.ShiftAt.Most > 0 }

// sumKept says whether the sum is surely kept in the step: no motor comes to its end, as far as is declared how far one
// may go. Where that is not, any may: then the policy has to say where the ends are and that a motor goes up to them, for
// one that is not moved at all there stands nowhere near, and the sum is not kept.
func (b *branch) sumKept(d *declared) bool {
	if b.bounded() {
		return d.perhaps == [4]bool{} && d.past == [4]bool{} // one past its limit may stay where it was, and its partner move by twice as much
	}
	return b.p.Cap != nil && b.p.Floor != nil && !b.mayStayAtLimit(Raised) && !b.mayStayAtLimit(Lowered) &&
		b.e.mayCut(b.s) == [4]bool{} && b.e.mayCut(b.base) == [4]bool{} && b.roomUndeclared()
}

const (
	// gathering is how long a shift that gathers with time is given to be there; common practice,
	// no source: an integrator that takes longer steers no car.
	gathering = signal.Second
	// clearlyGathered is how many times the shift that counts as none the declared size has to
	// come to, for one that gathers to have come to more than none in that time; in a longer one less.
	clearlyGathered = 5
	// longGathering times that is the longest for which one that is so much the less is expected to be there; common practice,
	// no source: what leaks comes to no more for being given longer.
	longGathering = 2.5
)

// gathered says whether a shift that gathers with time has had the time to be there.
func (b *branch) gathered() bool { return b.gatheredTo(1) }

// gatheredTo says whether a share of a shift that gathers with time, as a motor may move, has had the time to be there.
func (b *branch) gatheredTo(share float64) bool {
	size, ok := b.expected()
	given := (b.s.From - b.s.Applied).Seconds() / gathering.Seconds()
	return ok && b.p.Integrates() && given >= 1 && size*share*b.leastShare()*min(given, longGathering) >= clearlyGathered*b.e.deadShift()
}

// noClearShift plans a situation in which the policy asks no motor for a clear shift.
func (b *branch) noClearShift(d *declared) []ask {
	most := 0.0
	for _, i := range d.shifts {
		most = max(most, i.High, -i.Low)
	}
	why := "by its tolerances"
	if d.open&^law.OfSize != 0 {
		why = "for " + (d.open &^ law.OfSize).String()
	}
	return b.notAsked(fmt.Sprintf("the policy asks no motor for a clear shift in this step: between none and %s of range, %s, for a yaw error of %s deg/s and a gain of %s at a throttle of %s",
		share(most), why, degrees(b.yawError()), share(b.s.Gain), share(b.s.Throttle)))
}

// noMotor plans a corner that is none.
func (b *branch) noMotor(m side) ask {
	return unshown(b.name(string(m.corner)+" "+string(m.is)), b.s.undecided("%q is no motor; use one of %s", m.corner, list(law.Corners)))
}

// noShift plans a situation in which none is asked: every motor stays as far as the law says, and
// they stand together.
func (b *branch) noShift() []ask {
	if why := b.otherThrottle(); why != "" {
		return b.notAsked(why)
	}
	d, view := b.meant(b.s), &view{}
	if d.missing != "" {
		return b.notAsked("the policy has no " + d.missing)
	}
	if wide := d.widest(); wide > sizeUndeclared/2 {
		if all := b.notRaised(view, &d); all != nil {
			return all
		}
		return b.notAsked(fmt.Sprintf("by its tolerances the policy leaves the motors %s of range to move in", share(wide)))
	}
	sides := b.sides(nil)
	all := asks(sides, func(m side) ask { return b.senseOf(view, m) })
	if b.p.MotorsEqualWithin == nil {
		return all
	}
	var corners []law.Corner
	for _, m := range sides {
		corners = append(corners, m.corner)
	}
	name, within := b.name("motors equal"), *b.p.MotorsEqualWithin+d.widest()
	return append(all, asking(name, func(b *branch) Result { return b.e.equal(name, corners, within, b.s) }).of("motors_equal_within"))
}

// expected returns the size of the shift that the policy declares for the
// step's yaw error and gain trim, a share of range, at least 0.
func (b *branch) expected() (float64, bool) {
	at := b.p.ShiftAt
	if at == nil || b.p.Demand == nil || !(b.acting(at.Error) > 0) || !(at.Gain > 0) {
		return 0, false
	}
	x := at.Is * (math.Abs(b.acting(b.yawError())) / b.acting(at.Error)) * (b.p.LeastGain(b.s.Gain) / at.Gain) * b.oppositeShare()
	return x, x >= 0 && !math.IsInf(x, 0)
}

// view is what the law says of a step, counted from where the motors really stood in the
// baseline. It is worked out when the first of what is asked is judged.
type view struct {
	declared
	limits []plant.Wheel // those that are meant to come to an end of their range
	read   bool
	now    [4]measure.Estimate
	base   [4]measure.Estimate
	errs   [4]error
}

// of reads the view of a situation with its trace.
func (v *view) of(b *branch) *view {
	if v.read {
		return v
	}
	v.read = true
	at := b.standing()
	for _, w := range plant.Wheels {
		in := readings{e: b.e}
		v.now[w] = in.mean(w, b.s)
		v.base[w] = in.mean(w, b.base)
		if v.errs[w] = in.err; in.err == nil && finite(v.base[w].Value) {
			at[w] = v.base[w].Value
			v.errs[w] = b.driven(w, b.base, v.base[w])
		}
	}
	v.declared = b.declaredFrom(b.s, at, b.e.asPlayed())
	return v
}

// shift returns how far a motor's mean moved from the baseline.
func (v *view) shift(w plant.Wheel) measure.Estimate { return measure.Difference(v.now[w], v.base[w]) }
