package assertions

import (
	"cmp"
	"fmt"
	"math"

	"hilrig/assertions/law"
	"hilrig/assertions/measure"
	"hilrig/plant"
)

// judge returns one result for each place in the turn. Where the case has no
// baseline the commands themselves are compared.
func (c Mirrored) judge(e *Evidence) []Result {
	return each(law.Places, func(place law.Corner) Result { return c.place(e, place) })
}

// gathersOverSteps says why a step and its mirror image are not held against each other. What was gathered in the one is still
// there in the other, to the wrong side, however equal the firmware's sides are.
const gathersOverSteps = "by the policy, or for want of a shift_at, the shift may gather with time: what it gathered in one step is still there in the next, so that the two need not be alike; within: 5 % asks for it all the same"

// place compares one place in the turn between both steps.
func (c Mirrored) place(e *Evidence, place law.Corner) Result {
	name := string(place) + " mirrored"
	in := readings{e: e}
	a, other := in.step(c.A), in.step(c.B)
	if in.err == nil && a.Turn(e.policy())*other.Turn(e.policy()) != -1 {
		in.err = other.undecided("steps %q and %q are no mirror images: one has to turn left, the other right", a.Name, other.Name)
	}
	if in.err != nil {
		return unjudged(name, in.err)
	}
	if c.Within == 0 && e.policy().MayIntegrate() {
		return Result{Name: name, Verdict: NotAsked, Why: gathersOverSteps, Step: other.Name, At: other.From}
	}
	open := e.openBetween(place, a, other)
	if open.why != "" && c.Within == 0 {
		return Result{Name: name, Verdict: NotAsked, Why: open.why, Step: other.Name, At: other.From}
	}
	first, second := in.mirrorSide(place, a), in.mirrorSide(place, other)
	largest := max(math.Abs(first.Value), math.Abs(second.Value))
	within := cmp.Or(c.Within, e.deadShift()+open.by+float64(open.share*largest))
	est, limit := measure.Difference(first, second), measure.Within(0, within)
	r := found(name, fmt.Sprintf("%s in %q less %s in %q", place, a.Name, place, other.Name), est, in.err, limit, other)
	return r.explained(fmt.Sprintf("%s moves by %s in %q but by %s in %q, which mirrors it: the board favours one side", place, share(first.Value), a.Name, share(second.Value), other.Name),
		e.remedy(est, limit, shorter(a, other), percent, " %"))
}

// mirrorSide returns what is compared of a place: its shift, or where there is
// no baseline its mean.
func (r *readings) mirrorSide(place law.Corner, s *Step) measure.Estimate {
	w := r.wheel(place, s)
	if base, ok := r.e.Baseline(); ok && base != s {
		return r.shift(w, s, base)
	}
	return r.mean(w, s)
}

// mirrorOpen is how far the shifts of a place in a step and in its mirror image may lie apart.
type mirrorOpen struct {
	by    float64 // of range
	share float64 // of the shift, besides
	why   string  // why the policy leaves it open altogether
}

// openBetween returns how far the demand's tolerance lets the shifts of a place lie apart in a step and in its
// mirror image: firmware need not be out by the same to both sides, nor in the one baseline that both
// are counted from. How far the motors go for a yaw error is the same on both.
func (e *Evidence) openBetween(place law.Corner, a, other *Step) (open mirrorOpen) {
	p := *e.policy()
	if p.Demand == nil {
		return open
	}
	if p.ShiftAt != nil {
		at := *p.ShiftAt
		at.Within = 0
		p.ShiftAt = &at
	}
	exact := *e.unplayed()
	exact.Policy = &p
	var shifts [2]Limit
	onlyBefore := !sized(&p)
	for k, s := range []*Step{a, other} {
		b := &branch{e: &exact, p: &p, s: s}
		if base, ok := exact.Baseline(); ok && base != s {
			b.base = base
		}
		if d := b.meant(s); d.missing != "" {
			open.why = "the policy has no " + d.missing
			return open
		}
		if w, ok := place.Wheel(s.Turn(&p)); ok {
			shifts[k] = b.bareFromBase(w)
			onlyBefore = onlyBefore && b.shiftedOnlyInBase(w)
		}
		if !sized(&p) && p.Demand.Within > 0 {
			open.share = max(open.share, b.openShare())
		}
	}
	if onlyBefore {
		open.why = "the policy shifts this place in the baseline alone, by what the demand's tolerance leaves open there, and both steps are counted from that"
	}
	if math.IsInf(open.share, 1) {
		open.why = "the yaw error in this step is too small for the demand's tolerance to tell how far the motors are moved"
	}
	if sized(&p) {
		open.by = max(shifts[0].High-shifts[1].Low, shifts[1].High-shifts[0].Low)
	}
	return open
}

// bareFromBase returns by how much more a motor is shifted in the step than in the baseline, by any firmware that
// keeps the policy, without what counts as none.
func (b *branch) bareFromBase(w plant.Wheel) Limit {
	all, at := measure.RangeOf(), b.standing()
	for _, f := range b.e.firmwares() {
		now := b.e.asMeant(f.bare, b.s, b.unshifted(&f, at, b.s, b.e.asMeant)).Shifts[w]
		before := Limit{}
		if b.base != nil {
			before = b.e.asMeant(f.bare, b.base, b.e.meant(b.base).Unshifted).Shifts[w]
		}
		all.Include(now.Low-before.High, now.High-before.Low)
	}
	return all
}

// shiftedOnlyInBase says whether no firmware that keeps the policy shifts a motor in the step, and some does in the
// baseline: whose demand is not quite that of the policy.
func (b *branch) shiftedOnlyInBase(w plant.Wheel) bool {
	if b.base == nil {
		return false
	}
	at, before := b.standing(), false
	for _, f := range b.e.firmwares() {
		if !still(b.e.asMeant(f.bare, b.s, b.unshifted(&f, at, b.s, b.e.asMeant)).Shifts[w]) {
			return false
		}
		before = before || !still(b.e.asMeant(f.bare, b.base, b.e.meant(b.base).Unshifted).Shifts[w])
	}
	return before
}

// openShare returns by what share of itself a shift of which no size is declared may differ from one side to the
// other: it goes at most in proportion to the yaw error, which the demand's tolerance leaves open, in the step and in the
// baseline. It is infinite where there need be no error at all.
func (b *branch) openShare() float64 {
	_, allowed := b.demandAllowed()
	off, band := allowed.Width()/2, 0.0
	if b.p.DeadBand != nil {
		band = *b.p.DeadBand
	}
	least := math.Abs(b.yawError()) - off - band
	if !(least > 0) {
		return math.Inf(1)
	}
	share := 2 * off / least
	if b.base != nil && b.base.Gain > 0 && b.base.YawRate == b.base.Demand {
		steepness := 1.0 // a shift that grows less and less is the steeper the smaller it is
		if x, ok := b.expected(); ok && b.p.ShiftAt.Most > 0 {
			steepness += x / b.p.ShiftAt.Most
		}
		share += 2 * off / least * steepness
	}
	return share
}
