package assertions

import (
	"math"

	"hilrig/assertions/law"
	"hilrig/assertions/measure"
	"hilrig/plant"
)

// splitFor returns the branch of the split that a policy asks for in step s,
// nil where it asks for no shift, does not say, or may ask for either.
func splitFor(p *law.Policy, s *Step) *law.Split {
	if p.Demand == nil {
		return nil
	}
	e := &Evidence{Policy: p}
	in := e.meant(s)
	a := e.firmware(*p).bare.At(&in)
	all := measure.RangeOf()
	for _, i := range a.Shifts {
		all.Include(i.Low, i.High)
	}
	if a.Missing != "" || still(all) {
		return nil
	}
	switch {
	case a.Branch == law.Understeer || a.Branch == law.OppositeLocked && p.OppositeLock == law.OppositeLockUndersteer:
		return p.Understeer
	case a.Branch == law.Oversteer || a.Branch == law.OppositeLocked:
		return p.Oversteer
	}
	return nil
}

// asksClearly says whether the law asks some motor for a clear shift in a step, as far as the
// step as it is meant tells: none may be hidden by a cap or a floor.
func (b *branch) asksClearly(s *Step) bool {
	at := *b
	at.s = s
	d := at.meant(s)
	return b.p.Demand != nil && d.shiftAsked(b.e.deadShift())
}

// shifted tells whether any motor left its baseline in step s: outside of what counts as
// none, inside it, or across its ends.
func (b *branch) shifted(s *Step) (measure.Decision, error) {
	most := measure.Inside
	in := readings{e: b.e}
	for _, w := range plant.Wheels {
		d, base := b.e.moves(in.shiftBeyond(w, s, b.base)), in.mean(w, b.base)
		switch {
		case in.err != nil:
			return measure.Across, in.err
		case d == measure.Outside, b.e.allAway(w, lastHalf(s), base.Value+s.Throttle-b.base.Throttle, base.Expanded()):
			return measure.Outside, nil
		case d == measure.Across:
			most = d
		}
	}
	return most, nil
}

// allAway says whether every command of a motor in a window surely lies farther than what counts as
// none from a value known to ±uncertainty. A shift that grows makes the mean uncertain, and not that.
func (e *Evidence) allAway(w plant.Wheel, s *Step, value, uncertainty float64) bool {
	frames, away := e.frames(w, s), awayFrom(value, uncertainty, e.deadShift())
	for _, f := range frames {
		if surely, _ := away(f); !surely || math.IsNaN(f.Value) {
			return false
		}
	}
	return len(frames) >= fewest
}

// moves tells whether an estimate lies outside of what counts as none.
func (e *Evidence) moves(est measure.Estimate) measure.Decision {
	return est.Interval().Against(measure.Within(0, e.deadShift()))
}

// controlled returns r, or where r passes and its positive control shows nothing, what keeps
// it from passing.
func (b *branch) controlled(r Result, control func() error) Result {
	if r.Verdict == Pass {
		if err := control(); err != nil {
			return unjudged(r.Name, err)
		}
	}
	return r
}

// shiftBefore is the positive control of what asks for a shift to go away: an
// earlier step of the case, without a fault, showed one. A board that was asked
// for a shift there and did not move fails.
func (b *branch) shiftBefore() error {
	var last *Step
	asked, unclear := false, false
	all := b.earlier()
	for i := range all {
		s := &all[i]
		if s.Baseline || s == b.base || !s.sound() {
			continue
		}
		shifted, err := b.shifted(s)
		if shifted == measure.Outside || err != nil {
			return err
		}
		last = s
		asked = asked || b.asksClearly(s)
		unclear = unclear || shifted == measure.Across
	}
	if last == nil {
		return b.s.undecided("the case has no step before this one in which the shift could be seen without the fault; add one")
	}
	return last.absent(asked && !unclear, "the shift never was there before: in %q no motor moved from its baseline by more than %s, so that none could go away", last.Name, share(b.e.deadShift()))
}

// drivenIn is the positive control of what asks for idle: in step s, whose throttle is up, every motor is
// driven. One that by the law a shift may lower to its end there has to be driven in the baseline.
func (b *branch) drivenIn(s *Step) error {
	t := b.e.deadShift()
	if !(math.Abs(s.Throttle) > 2*t) {
		return s.undecided("the throttle stands at %s in %q, so that no motor is driven there; raise it", share(s.Throttle), s.Name)
	}
	in, lowered, seen := readings{e: b.e}, b.mayIdle(s), false
	for _, w := range plant.Wheels {
		est := in.mean(w, s)
		if in.err != nil {
			return in.err
		}
		drives := b.drives(w, s, est)
		seen = seen || drives
		if !drives && lowered[w] {
			base := in.mean(w, b.base)
			drives = in.err == nil && b.drives(w, b.base, base)
		}
		if !drives {
			return s.notDriven(w, est)
		}
	}
	if !seen {
		return s.undecided("no motor was driven in %q, where shifts may lower each to its end; play a smaller yaw error or a lower gain", s.Name)
	}
	return nil
}

// drives says whether a motor, whose mean in a step is est, surely is driven there.
func (b *branch) drives(w plant.Wheel, s *Step, est measure.Estimate) bool {
	return b.e.moves(est) == measure.Outside || b.e.allAway(w, s, 0, 0)
}

// mayIdle says which motors, driven in the baseline, a shift may lower in step s to what counts as idle; none
// without a baseline. Where the policy does not say what the motors are commanded with no shift, it is what
// they were in the baseline.
func (b *branch) mayIdle(s *Step) (may [4]bool) {
	if b.base == nil || b.base == s {
		return may
	}
	at := b.standing()
	if b.p.ThrottleCurve != law.ThrottleCurveNone {
		in := readings{e: b.e}
		for i, w := range plant.Wheels {
			at[i] = in.mean(w, b.base).Value
		}
		if in.err != nil {
			return may
		}
	}
	for _, f := range b.e.firmwares() {
		a := b.e.asMeant(f.law, s, b.unshifted(&f, at, s, b.e.asMeant))
		for i := range may {
			may[i] = may[i] || a.Commands[i].Low <= 2*b.e.deadShift()
		}
	}
	return may
}

// driven reports a motor that surely is not driven in a step whose throttle is up, whatever a
// throttle curve makes of that.
func (b *branch) driven(w plant.Wheel, s *Step, est measure.Estimate) error {
	if s.Throttle > clearThrottle && b.e.moves(est) == measure.Inside {
		return s.notDriven(w, est)
	}
	return nil
}

// clearThrottle is a throttle at which a motor is driven whatever the throttle curve; common
// practice, no source.
const clearThrottle = 0.2

// notDriven is the error of a motor that is not.
func (s *Step) notDriven(w plant.Wheel, est measure.Estimate) error {
	return s.fails("%s was not driven in %q, where the throttle stood at %s: its mean is %s", w, s.Name, share(s.Throttle), share(est.Value))
}
