package assertions

import (
	"fmt"
	"math"
	"slices"

	"hilrig/assertions/law"
	"hilrig/assertions/measure"
	"hilrig/plant"
	"hilrig/rig/trace"
)

// cap asks whether every command keeps the policy's cap.
func (b *branch) cap() []ask {
	in := b.e.meant(b.s)
	if highest := b.e.firmware(*b.p).law.At(&in).Allowed.High; highest > b.p.Cap.Of && b.p.Cap.Of < 1 {
		return b.notAsked(fmt.Sprintf("the cap holds above %s deg of steering; this step has %s deg", degrees(b.p.Cap.SteerAbove), degrees(b.s.Steer)))
	}
	return b.everyMotor(AtMost(b.p.Cap.Of), "at most "+share(b.p.Cap.Of))
}

// floor asks whether every command keeps the policy's floor.
func (b *branch) floor() []ask {
	floor := *b.p.Floor
	if b.spins() {
		return b.notAsked("a wheel goes so much faster than the slowest that the policy's traction_control may cut its motor")
	}
	// A throttle that is read a step of the pulse below may be one at which the floor does not hold.
	in := b.e.meant(b.s)
	if lowest := b.e.firmware(*b.p).law.At(&in).Allowed.Low; lowest < floor {
		return b.notAsked(fmt.Sprintf("the floor of %s holds with the throttle at or above it, clearly; this step has %s", share(floor), share(b.s.Throttle)))
	}
	return b.everyMotor(AtLeast(floor), "at least "+share(floor))
}

// everyMotor asks whether every frame of all four motors keeps limit.
func (b *branch) everyMotor(limit Limit, words string) []ask {
	return asks(b.sides(nil), func(m side) ask {
		name := b.name(string(m.corner) + " " + words)
		return asking(name, func(b *branch) Result { return b.e.keeps(name, m.corner, limit, b.s) })
	})
}

// ends returns the highest and the lowest command that a motor may have in the
// step: the policy's cap and floor where they hold, else the ends of the range.
func (b *branch) ends() Limit {
	l := between(b.e.Lowest, 1)
	if c := b.p.Cap; c != nil && math.Abs(b.s.Steer) > c.SteerAbove {
		l.High = min(l.High, c.Of)
	}
	if f := b.p.Floor; f != nil && b.s.Throttle >= *f {
		l.Low = max(l.Low, *f)
	}
	return l
}

// spins says whether by the policy's traction control some wheel may go too fast in the step, at
// the yaw rate that is held or at one of those that are swept.
func (b *branch) spins() bool { return b.spinsIn(b.s, 1) }

// nearlySpins is from what share of the policy's traction control on what the encoders tell may have it cut a motor.
const nearlySpins = 0.9

// baselineSpins says whether some wheel may nearly go too fast in the baseline of the step, which a car at rest has none of.
func (b *branch) baselineSpins() bool {
	return b.base != nil && b.base.Speed != 0 && b.spinsIn(b.base, nearlySpins)
}

// spinsIn says whether some wheel may go faster than the slowest by so much of the share of the policy's traction control.
func (b *branch) spinsIn(s *Step, of float64) bool {
	if b.p.TractionControl == nil || b.e.Car == nil {
		return false
	}
	yawRates := []float64{s.YawRate}
	if s.Swept && s.Changed == trace.YawRate {
		yawRates = s.Levels[:]
	}
	return slices.ContainsFunc(yawRates, func(yawRate float64) bool {
		slowest, fastest := math.Inf(1), 0.0
		for _, v := range b.e.hubsMeant(s, yawRate) {
			slowest, fastest = min(slowest, math.Abs(v)), max(fastest, math.Abs(v))
		}
		return fastest > slowest*(1+float64(of**b.p.TractionControl))
	})
}

// roomUndeclared says whether each motor of a split has room for a shift of which no size is
// declared.
func (b *branch) roomUndeclared() bool {
	ends := b.ends()
	for _, u := range b.e.unshiftedAt(b.s.Throttle) {
		if u.High+sizeUndeclared > ends.High || u.Low-sizeUndeclared < ends.Low {
			return false
		}
	}
	return true
}

// atTheLimit asks of a step in which the declared size would take a motor past its end
// that it stands there, and of the others that they move as the policy says.
func (b *branch) atTheLimit() []ask {
	split, key := b.p.Understeer, "understeer"
	if in := b.s.situation(); in == oversteering || in == oppositeLock {
		split, key = b.p.Oversteer, "oversteer"
	}
	if split == nil {
		return b.notAsked("the policy has no " + key)
	}
	if why := b.otherThrottle(); why != "" {
		return b.notAsked(why)
	}
	b.shown = b.surelyShifts()
	d, view := b.meant(b.s), &view{}
	switch {
	case d.missing != "":
		return b.notAsked("the policy has no " + d.missing)
	case d.branch == law.Open || d.branch == law.OnDemand:
		return b.notAsked("the policy asks for no shift in this step, or not surely for one branch")
	case b.shown && d.open&^law.OfSize != 0:
		return b.notAsked(b.unlimited(&d))
	}
	var all []ask
	var limited []plant.Wheel
	unsaid := ""
	for _, m := range b.sides(split) {
		w, ok := m.corner.Wheel(b.s.Turn(b.p))
		switch {
		case !ok:
			all = append(all, b.noMotor(m))
		case m.is == Unchanged:
		case d.past[w] && d.surely[w]:
			limited = append(limited, w)
			all = append(all, b.limitOf(view, m, " stands at its limit"+b.orHasRoom()))
		case d.past[w]:
			limited = append(limited, w)
			all = append(all, b.limitOf(view, m, " as it has no room for its shift"+b.orHasRoom()))
		default:
			all = append(all, b.limitOf(view, m, " as its partner is limited"+b.orHasRoom()))
		}
		if ok && d.past[w] && b.wordAt(m.is) == 0 {
			unsaid = fmt.Sprintf("the policy has no at_the_limit, and none for %s that is %s past its limit alone", called(m.corner, w), m.is)
		}
	}
	if unsaid != "" {
		return b.notAsked(unsaid)
	}
	if len(limited) == 0 {
		if b.scalesAll() {
			return []ask{b.scaledSum()}
		}
		for _, upper := range []bool{true, false} {
			if why := b.endUndeclared(upper); why != "" && b.near(upper) {
				return b.notAsked(why)
			}
		}
		return b.notAsked(b.unlimited(&d))
	}
	view.limits = limited
	return all
}

// scalesAll says whether at either limit, wherever a motor comes to it, the policy has all shifts made smaller by one factor, so
// that they cancel as they do with room.
func (b *branch) scalesAll() bool {
	none := [4]bool{}
	return scaledTogether(b.p) && b.e.mayCut(b.s) == none && b.e.mayCut(b.base) == none
}

// scaledSum asks whether shifts that are made smaller together leave the sum as it was, however large they are. Of what becomes
// of them at the limit that tells something where the motors surely are shifted.
func (b *branch) scaledSum() ask {
	name, keys := b.name("sum kept, as all shifts are scaled"), []string{"sum"}
	if b.shown {
		keys = append(keys, "at_the_limit")
	}
	return asking(name, func(b *branch) Result {
		within := b.sumRead()
		return b.e.sumKept(name, between(-within, within), b.s, b.base)
	}).of(keys...)
}

// orHasRoom ends the name of what is asked at a limit. Where the policy does not say what the firmware makes of
// the throttle, motors may turn out to have room, and then have to move as far as is declared.
func (b *branch) orHasRoom() string {
	if b.e.curveKnown() {
		return ""
	}
	return ", or moves as declared where there is room"
}

// surelyShifts says whether a firmware that keeps the policy shifts in the step by more than what counts as none, although
// the policy declares no size in proportion to the yaw error. One that declares no size at all is not kept by doing
// nothing, see sense.
func (b *branch) surelyShifts() bool {
	at := b.p.ShiftAt
	switch {
	case at == nil || !(at.Error > 0):
		return b.s.Gain > 0
	case at.Grows == law.GrowthSaturating:
		size, ok := b.expected()
		return ok && size >= clearlyGathered*b.e.deadShift()
	case at.Grows == law.GrowthIntegrating:
		return b.gathered()
	}
	return false
}

// unlimited says why no motor surely comes to its limit in the step, of which d is what the law says.
func (b *branch) unlimited(d *declared) string {
	const none = "no motor surely comes to its limit in this step: "
	size, ok := b.expected()
	switch {
	case d.open&^law.OfSize != 0:
		return none + (d.open &^ law.OfSize).String()
	case !ok || !sized(b.p) && !b.shown:
		return none + "the policy declares no size of the shift that surely is one here"
	case !sized(b.p):
		return none + "a shift of which no more is known than that it is one takes a motor past its limit only where that has no room at all; move the throttle to it"
	}
	return fmt.Sprintf(none+"each may have room for a shift of about %s within %s to %s; move the throttle nearer to it",
		share(size), share(b.ends().Low), share(b.ends().High))
}

// near says whether the throttle lies nearer to the upper end of the range than to the lower, or the
// other way round.
func (b *branch) near(upper bool) bool { return b.s.Throttle > (b.e.Lowest+1)/2 == upper }

// endUndeclared says why it is not known where a motor comes to its limit, the upper one or the
// lower; "" where it is: the policy leaves out where a firmware may have an end of its own.
func (b *branch) endUndeclared(upper bool) string {
	switch {
	case upper && b.p.Cap == nil:
		return "the policy has no cap, which says where a motor that is raised comes to its limit: 100 % where that is full command"
	case !upper && b.p.Floor == nil:
		return "the policy has no floor, which says where a motor that is lowered comes to its limit"
	}
	return ""
}

// limitOf asks where a motor stands as one is limited.
func (b *branch) limitOf(v *view, m side, words string) ask {
	name := b.name(string(m.corner) + words)
	return asking(name, func(b *branch) Result { return v.of(b).standsAs(b, name, m) })
}

// standsAs judges where a motor stands as one is limited.
func (v *view) standsAs(b *branch, name string, m side) Result {
	w, _ := m.corner.Wheel(b.s.Turn(b.p))
	if v.errs[w] != nil {
		return unjudged(name, v.errs[w])
	}
	if !v.stillLimited() && b.e.curveKnown() {
		return unjudged(name, b.s.undecided("%s stood at %s in the baseline, which leaves room for the shift: %s",
			called(m.corner, w), share(v.from[w]), b.countsOnThrottle()))
	}
	expected, _ := b.expected()
	est, limit := v.shift(w), v.shifts[w]
	stays := b.shown && limit.Low <= 0 && limit.High >= 0
	if v.surely[w] || stays || v.stillLimited() && !v.standsAtLimit() { // what an end comes to, or the room up to it, is read no better than a shift
		t := b.e.deadShift()
		limit = between(limit.Low-t, limit.High+t)
	} else {
		limit = b.e.beyondEnds(v, w, limit)
	}
	if all, ok := v.between(b, w); ok && b.p.MayIntegrate() && est.Interval().Against(limit) == measure.Across && all.Interval().Against(limit) != measure.Across {
		est = all // a shift that grows makes its mean uncertain
	}
	takes := "would take a motor past its limit, and then"
	if !v.stillLimited() {
		takes = "need not take a motor past its limit, and"
	}
	r := found(name, "shift of "+called(m.corner, w), est, nil, limit, b.s)
	return r.explained(fmt.Sprintf("%s went from %s to %s ± %s; the declared shift of %s %s this one stands at %s to %s, with nothing beyond %s to %s",
		called(m.corner, w), share(v.from[w]), share(v.now[w].Value), share(est.Expanded()), share(expected), takes,
		share(v.from[w]+limit.Low), share(v.from[w]+limit.High), share(v.allowed.Low), share(v.allowed.High)),
		b.e.remedy(est, limit, shorter(b.s, b.base), percent, " %"))
}

// beyondEnds takes a limit of a motor's shift that is as far as its range goes beyond that by what counts as no
// shift: the end itself is read no better.
func (e *Evidence) beyondEnds(v *view, w plant.Wheel, limit Limit) Limit {
	t, read := e.deadShift(), e.CommandStep/2
	if v.from[w]+limit.Low <= v.allowed.Low+read {
		limit.Low -= t
	}
	if v.from[w]+limit.High >= v.allowed.High-read {
		limit.High += t
	}
	return limit
}

// stillLimited says whether one of the motors that were meant to come to an end of their range
// surely does.
func (v *view) stillLimited() bool {
	return slices.ContainsFunc(v.limits, func(w plant.Wheel) bool { return v.past[w] })
}

// standsAtLimit says whether one of those motors surely stands at that end, rather than where it stood or short of it.
func (v *view) standsAtLimit() bool {
	return slices.ContainsFunc(v.limits, func(w plant.Wheel) bool { return v.past[w] && v.surely[w] })
}
