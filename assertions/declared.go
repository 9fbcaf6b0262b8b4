package assertions

import (
	"math"

	"hilrig/assertions/law"
	"hilrig/assertions/measure"
	"hilrig/plant"
)

// declared is what the law says of a held step, counted from what the motors stood at in a
// baseline, in the order of plant.Wheels.
type declared struct {
	from            [4]float64 // what the motors stood at
	shifts          [4]Limit   // how far each mean may stand from that, what counts as none included
	bare            [4]Limit   // by how much each is shifted, without what counts as none
	perhaps, surely [4]bool    // the motor comes to its cap, its floor or an end of the range
	past            [4]bool    // its shift would surely take it past that, wherever it then stands
	allowed         Limit      // from the floor to the cap, where they hold
	ends            Limit      // from the floor to the cap, where they may hold
	branch          law.Branch
	open            law.Reasons // why a shift may be there or not
	missing         string      // what the law cannot say anything without
}

// meant returns what the law says of a step as it is meant, from a baseline as it is meant.
func (b *branch) meant(s *Step) declared { return b.declaredFrom(s, b.standing(), b.e.asMeant) }

// standing returns what the motors stand at in the baseline as it is meant: at its throttle,
// within what is allowed.
func (b *branch) standing() (at [4]float64) {
	if b.base == nil {
		for i, u := range b.e.unshiftedAt(b.s.Throttle) {
			at[i] = middleOf(u)
		}
		return at
	}
	in := b.e.meant(b.base)
	a := b.e.firmware(*b.p).law.At(&in)
	for i, u := range b.e.unshiftedAt(b.base.Throttle) {
		at[i] = min(max(middleOf(u), a.Unshifted[i].Low), a.Unshifted[i].High)
	}
	return at
}

// middleOf returns the middle of an interval.
func middleOf(i Limit) float64 { return (i.Low + i.High) / 2 }

// declaredFrom returns what the law says of a step, the motors having stood at in the baseline:
// the most that any firmware may do whose demand is what the policy allows in both. ask asks a law.
func (b *branch) declaredFrom(s *Step, at [4]float64, ask asksLaw) declared {
	d := declared{from: at}
	for i := range d.shifts {
		d.shifts[i], d.bare[i] = measure.RangeOf(), measure.RangeOf()
		d.surely[i], d.past[i] = true, true
	}
	for k, f := range b.e.firmwares() {
		f.law, f.bare = f.law.Turned(b.turn), f.bare.Turned(b.turn)
		if b.shown {
			f.law = f.law.Shown()
		}
		unshifted := b.unshifted(&f, at, s, ask)
		a, bare := ask(f.law, s, unshifted), ask(f.bare, s, unshifted)
		if a.Missing != "" {
			d.missing = a.Missing
		}
		if k == 0 {
			d.allowed, d.branch = a.Allowed, a.Branch
			d.ends = between(a.Lowest.High, a.Highest.Low)
		}
		d.open |= a.Open
		if a.Branch != d.branch {
			d.branch = law.Open
		}
		for i := range d.shifts {
			d.shifts[i].Include(a.Commands[i].Low-at[i], a.Commands[i].High-at[i])
			d.bare[i].Include(bare.Shifts[i].Low, bare.Shifts[i].High)
			d.perhaps[i] = d.perhaps[i] || a.Perhaps[i]
			d.surely[i] = d.surely[i] && a.Surely[i]
			d.past[i] = d.past[i] && a.Past[i]
		}
	}
	return d
}

// unshifted returns what each motor is commanded in a step with no shift: what it stood at in the
// baseline less what this firmware shifts there already, whose demand need not be quite that of
// the policy. What stands at its cap or floor, or may be cut by traction control or for the sum of all four, may be
// meant to stand beyond; what stands within one of the firmware's steps of its cap or floor is meant to, where the
// throttle tells so.
func (b *branch) unshifted(f *firmware, at [4]float64, s *Step, ask asksLaw) (unshifted [4]Limit) {
	if b.base == nil {
		return b.e.meant(s).Unshifted
	}
	for i, x := range at {
		unshifted[i] = between(x, x)
	}
	bare := b.bareShifts(f, unshifted, ask)
	near := b.e.offBy()
	stood := b.e.meant(b.base)
	cut := f.law.MayCut(&stood)
	summed := b.summed(&at, cut, near)
	for i, x := range at {
		u := between(x-bare.Shifts[i].High, x-bare.Shifts[i].Low)
		by := b.e.rise(i, b.base.Throttle, s.Throttle)
		if cut[i] || summed || x >= bare.Highest.Low-near {
			beyond := 1 - max(by.High, 0)
			if b.p.ThrottleCurve == law.ThrottleCurveNone {
				beyond = b.base.Throttle
			}
			u.High = max(u.High, beyond)
		}
		if x <= bare.Lowest.High+near {
			beyond := b.e.Lowest - min(by.Low, 0)
			if b.p.ThrottleCurve == law.ThrottleCurveNone {
				beyond = b.base.Throttle
			}
			u.Low = min(u.Low, beyond)
		}
		known := b.e.knownUnshifted(i, b.base.Throttle)
		if cut[i] && b.e.curveKnown() { // what it is cut from is known
			u.High = min(u.High, max(known.High, x))
		}
		if x >= bare.Highest.Low-near {
			u.Low = max(u.Low, min(known.Low, u.High))
		} else if x <= bare.Lowest.High+near {
			u.High = min(u.High, max(known.High, u.Low))
		}
		unshifted[i] = between(u.Low+by.Low, u.High+by.High)
	}
	return unshifted
}

// bareShifts returns what the law says of the baseline, in which the motors stand: where that may lie in a branch
// which the policy leaves out, by what firmware may shift there; where it says nothing for another reason, with no shifts.
func (b *branch) bareShifts(f *firmware, stand [4]Limit, ask asksLaw) law.Answer {
	bare := ask(f.bare, b.base, stand)
	if bare.Missing == "" {
		return bare
	}
	shifts := [4]Limit{}
	for _, l := range f.guessed {
		if one := ask(l, b.base, stand); one.Missing == "" {
			for i, s := range one.Shifts {
				shifts[i].Include(s.Low, s.High)
			}
		}
	}
	bare.Shifts = shifts
	return bare
}

// summed says whether the four motors, which stood at so much, may have been cut for what they come to together, each
// up to near off. Of those that traction control cuts, one at least is not cut.
func (b *branch) summed(at *[4]float64, cut [4]bool, near float64) bool {
	most := b.p.SumCap
	if most == nil {
		return false
	}
	var sum, least float64
	all := true
	for i, x := range at {
		uncut := x
		if cut[i] {
			uncut = 1
			if b.p.ThrottleCurve == law.ThrottleCurveNone {
				uncut = max(x, b.base.Throttle)
			}
		}
		if more := uncut - x; i == 0 || more < least {
			least = more
		}
		sum, all = sum+uncut, all && cut[i]
	}
	if all {
		sum -= least
	}
	return sum >= *most-4*near
}

// resolutionOf returns by how much a command may be off by the policy, 0 where it does not say.
func (b *branch) resolutionOf() float64 {
	if r := b.p.Resolution; r != nil {
		return *r
	}
	return 0
}

// otherThrottle says why shifts cannot be counted from the baseline: it stands at another throttle,
// and what the firmware makes of that is not declared. It is empty where they can.
func (b *branch) otherThrottle() string {
	if b.base == nil || b.s.Throttle == b.base.Throttle || b.e.curveKnown() {
		return ""
	}
	if b.e.NoCurve != "" {
		return b.e.NoCurve
	}
	return "the baseline stands at a throttle of " + share(b.base.Throttle) + " and this step at " + share(b.s.Throttle) + ", and the policy has no throttle_curve that is none or calibrated, by which the difference could be known"
}

// little is far below any shift that is read.
const little = 1e-9

// still says whether bare shifts are none.
func still(bare Limit) bool { return bare.Low >= -little && bare.High <= little }

// asked is how a motor's shift is asked for, as far as the law says.
func (d *declared) asked(w plant.Wheel, none float64) (is Sense, ok bool) {
	switch i := d.shifts[w]; {
	case i.Low > none:
		return Raised, true
	case i.High < -none:
		return Lowered, true
	}
	return Unchanged, false
}

// shiftAsked says whether the law asks some motor for a clear shift.
func (d *declared) shiftAsked(none float64) bool {
	for _, w := range plant.Wheels {
		if _, ok := d.asked(w, none); ok && d.missing == "" {
			return true
		}
	}
	return false
}

// widest returns how far the bare shifts may lie apart: 0 where nothing is shifted.
func (d *declared) widest() float64 {
	all := measure.RangeOf()
	for _, i := range d.bare {
		all.Include(i.Low, i.High)
	}
	if d.missing != "" || math.IsInf(all.Low, 0) {
		return math.Inf(1)
	}
	if still(all) {
		return 0
	}
	return all.Width()
}
