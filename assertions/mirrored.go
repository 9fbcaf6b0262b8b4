package assertions

import (
	"cmp"
	"fmt"

	"hilrig/assertions/law"
	"hilrig/assertions/measure"
)

// judge returns one result for each place in the turn. Where the case has no
// baseline the commands themselves are compared.
func (c Mirrored) judge(e *Evidence) []Result {
	return each(law.Places, func(place law.Corner) Result { return c.place(e, place) })
}

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
	within := cmp.Or(c.Within, e.deadShift()+e.openOf(place, a))
	first, second := in.mirrorSide(place, a), in.mirrorSide(place, other)
	est, limit := measure.Difference(first, second), measure.Within(0, within)
	r := found(name, fmt.Sprintf("%s in %q less %s in %q", place, a.Name, place, other.Name), est, in.err, limit, other)
	return r.explained(fmt.Sprintf("%s moves by %s in %q but by %s in %q, which mirrors it: the board favours one side", place, share(first.Value), a.Name, share(second.Value), other.Name),
		remedy(est, limit, shorter(a, other), percent, " %"))
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

// openOf returns how far the demand's tolerance lets the shift of a place lie apart in a step and in its
// mirror image: firmware need not be out by the same to both sides. How far the motors go for
// a yaw error is the same on both.
func (e *Evidence) openOf(place law.Corner, s *Step) float64 {
	p := *e.policy()
	if p.ShiftAt == nil || p.Demand == nil {
		return 0
	}
	at := *p.ShiftAt
	at.Within = 0
	p.ShiftAt = &at
	exact := *e.unplayed()
	exact.Policy = &p
	base, _ := exact.Baseline()
	if base == s {
		base = nil
	}
	b := &branch{e: &exact, p: &p, s: s, base: base}
	w, ok := place.Wheel(s.Turn(&p))
	if d := b.meant(s); ok && d.missing == "" && sized(&p) {
		return d.bare[w].Width()
	}
	return 0
}
