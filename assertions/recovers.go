package assertions

import (
	"cmp"
	"fmt"
	"math"

	"hilrig/assertions/law"
	"hilrig/assertions/measure"
	"hilrig/plant"
)

// recovers asks of a step after a fault is gone, in which everything is held as
// before it: where by the policy the board has recovered by now, its commands
// are those of before, by the step's second half; where it has not, they still
// are those at the end of the fault. A board that waits for the throttle has
// recovered when there was a step with the throttle at idle since; one that
// waits for a power cycle has not. What was lost in the fault says by which of the
// policy's words that goes; of a loss that the policy does not speak of nothing is asked.
func (b *branch) recovers() []ask {
	fault, before, idled, err := b.aroundFault()
	if err != nil {
		return b.unshown(err)
	}
	how, gone, keys := b.p.Recovers, false, []string{"recovers"}
	if k := lossPlayed(fault.Faults); k != nil {
		l := k.of(b.p)
		if l == nil {
			return b.notAsked("the policy has no " + k.key)
		}
		with := ""
		if how, with = k.recovery(b.p, fault.Faults); with != "" {
			return b.notAsked("what it takes to drive again is more, or may be, by " + with + ", which is lost with it, than by " + k.key)
		}
		if gone = goesOn(l); gone {
			how, keys = law.RecoversByItself, nil // nothing is stopped
		}
		keys = append(keys, k.key)
		if b.sameGain(l, before) {
			gone = true // there is nothing to recover from
		}
		if why := cmp.Or(b.vanishes(before), b.littleShift(before)); why != "" && !gone && l.Then != law.LossIdle {
			return b.notAsked(why)
		}
	}
	if how == 0 {
		return b.notAsked("the policy does not say what it takes to drive again after this loss: it has no recovers")
	}
	back := how == law.RecoversByItself || how == law.RecoversAtThrottleIdle && idled
	name, like, then := b.name("commands as before the fault"), before, before
	if !back {
		name, like, then = b.name("still safe"), fault, lastHalf(fault)
	}
	return []ask{asking(name, func(b *branch) Result {
		r := b.asIn(name, lastHalf(b.s), then, back && b.remembers(), b.uncut(fault, back))
		if gone {
			return r
		}
		return b.controlled(r, func() error { return b.faultActed(lastHalf(fault), before) })
	}).of(keys...).orUnshown(b.sameHold(like))}
}

// littleShift says why a loss after which there is no shift need not be seen in a step after which it comes: the policy asks for one
// there that may count as none. It is "" where it asks for a clear one, or declares no size.
func (b *branch) littleShift(before *Step) string {
	if b.base == nil || !sized(b.p) || b.asksClearly(before) {
		return ""
	}
	return fmt.Sprintf("the policy asks no motor for a clear shift in %q, so that there need be none to come back", before.Name)
}

// sameGain says whether a policy has the board take a gain after a loss with which the law need not
// command any motor otherwise than with that of the step before.
func (b *branch) sameGain(l *law.Loss, before *Step) bool {
	if l.Then != law.LossValue {
		return false
	}
	in := b.e.meant(before)
	was := b.e.law().At(&in)
	in.Gain = between(l.Value, l.Value)
	now, t := b.e.law().At(&in), b.e.deadShift()
	for i := range was.Commands {
		if now.Commands[i].Low > was.Commands[i].High+t || now.Commands[i].High < was.Commands[i].Low-t {
			return false
		}
	}
	return true
}

// remembers says whether a shift may go on to grow while everything is held, so that it does not
// come back to what it was.
func (b *branch) remembers() bool {
	return b.p.ShiftAt == nil || b.p.ShiftAt.Grows == law.GrowthIntegrating
}

// aroundFault returns the last step before this one that has a fault, the last
// before that without, and whether the throttle was at idle since the fault.
func (b *branch) aroundFault() (fault, before *Step, idled bool, err error) {
	all := b.earlier()
	for i := range all {
		s := &all[i]
		if !s.sound() {
			fault, idled = s, false
			continue
		}
		if fault == nil {
			before = s
		} else if math.Abs(s.Throttle) <= b.e.deadShift() {
			idled = true
		}
	}
	switch {
	case fault == nil:
		err = b.s.undecided("the case has no step with a fault before this one, so that there is nothing to recover from; add one")
	case before == nil:
		err = b.s.undecided("the case has no step before the fault that could be recovered to; add one")
	case len(b.s.Faults) > 0:
		err = b.s.undecided("this step has a fault itself; judge one after it")
	}
	return fault, before, idled, err
}

// sameHold reports a step whose held values are not those of the one that it is
// compared with.
func (b *branch) sameHold(like *Step) error {
	s := b.s
	if s.Speed == like.Speed && s.Steer == like.Steer && s.Throttle == like.Throttle && s.Gain == like.Gain && s.YawRate == like.YawRate {
		return nil
	}
	return s.undecided("this step does not hold the values of %q, with which it is compared; give it the same", like.Name)
}

// lastHalf returns the second half of a step's window.
func lastHalf(s *Step) *Step {
	half := *s
	half.From += (s.To - s.From) / 2
	return &half
}

// asIn judges whether each motor's mean in one window is that in another, by
// the motor that differs most. Where what was shifted may have grown otherwise, a motor that was
// shifted has to be so again, to the same side, and another one is not looked at. Of uncut see there.
func (b *branch) asIn(name string, now, then *Step, grown bool, uncut [4]float64) Result {
	var worst Result
	for i, w := range plant.Wheels {
		r, err := b.motorAsIn(name, w, now, then, grown, uncut[w])
		if err != nil {
			return unjudged(name, err)
		}
		if i == 0 || r.Verdict.Compare(worst.Verdict) > 0 || r.Verdict == worst.Verdict && math.Abs(r.measured.Estimate) > math.Abs(worst.measured.Estimate) {
			worst = r
		}
	}
	return worst
}

// motorAsIn judges one motor.
func (b *branch) motorAsIn(name string, w plant.Wheel, now, then *Step, grown bool, uncut float64) (Result, error) {
	t := b.e.deadShift()
	limit := measure.Within(0, t)
	in := readings{e: b.e}
	a, quiet := in.meanOrNone(w, now)
	z, too := in.meanOrNone(w, then)
	if grown && b.base != nil {
		limit = grownLimit(in.shiftBeyond(w, then, b.base), t)
	}
	limit.High = max(limit.High, uncut-z.Value+t)
	est := measure.Difference(a, z)
	r := found(name, fmt.Sprintf("%s%s less that in %q%s", w, silentNote(quiet), then.Name, silentNote(too)), est, in.err, limit, now)
	if quiet && too {
		r = judged(Result{Name: name, Step: now.Name, At: now.From}, Measurement{
			Quantity: fmt.Sprintf("commands of %s, as silent as in %q", w, then.Name), Limit: AtMost(0), // counted: none came in either
		})
	}
	return r.explained(fmt.Sprintf("%s is commanded to %s, and in %q it was %s", w, share(a.Value), then.Name, share(z.Value)),
		b.e.remedy(est, limit, shorter(now, then), percent, " %")), in.err
}

// uncut returns the most that each motor is commanded with no shift, of those which traction control may have cut in
// a fault: a board that shifts nothing until it drives again may cut them no more once the fault is gone. It is
// less than any command of motors of which that does not hold.
func (b *branch) uncut(fault *Step, back bool) [4]float64 {
	none := [4]float64{math.Inf(-1), math.Inf(-1), math.Inf(-1), math.Inf(-1)}
	l := LossOf(b.p, fault.Faults)
	if back || b.base == nil || l == nil || l.Then != law.LossNoShift {
		return none
	}
	lost := *b
	lost.s = fault
	most, known, err := lost.noShiftAt()
	for i, may := range b.e.mayCut(fault) {
		if may && err == nil {
			none[i] = most[i].High + known[i]
		}
	}
	return none
}

// grownLimit returns by how much a command may differ from that of an earlier step in which the
// motor was shifted by was, where the shift may have grown otherwise since: it is back on
// its side of none.
func grownLimit(was measure.Estimate, t float64) Limit {
	switch i := was.Interval(); {
	case i.Low > 2*t:
		return AtLeast(t - was.Value)
	case i.High < -2*t:
		return AtMost(-t - was.Value)
	}
	return between(math.Inf(-1), math.Inf(1))
}

// silentNote says of a mean that it is no reading but silence, which counts as idle.
func silentNote(silent bool) string {
	if silent {
		return " (silent, taken as idle)"
	}
	return ""
}

// meanOrNone returns a motor's mean command. Where the policy takes silence for safe, a silent
// motor counts as idle, since no speed controller drives without a command.
func (r *readings) meanOrNone(w plant.Wheel, s *Step) (mean measure.Estimate, silent bool) {
	e := r.e
	if e.policy().SafeState != law.OutputsIdle && e.Trace != nil && e.Trace.Motor[w].Any() && len(e.allFrames(w, s)) == 0 && e.openIn(w, s) == 0 {
		return measure.Estimate{}, true
	}
	return r.mean(w, s), false
}

// faultActed is the positive control: by the end of the fault some motor was
// commanded otherwise than before it.
func (b *branch) faultActed(fault, before *Step) error {
	t := b.e.deadShift()
	for _, w := range plant.Wheels {
		in := readings{e: b.e}
		a, _ := in.meanOrNone(w, fault)
		z, _ := in.meanOrNone(w, before)
		if in.err != nil {
			return in.err
		}
		if b.e.moves(measure.Difference(a, z)) == measure.Outside || b.e.allAway(w, lastHalf(before), a.Value, a.Expanded()) {
			return nil
		}
	}
	if math.Abs(before.Throttle) > 2*t {
		if err := b.drivenIn(before); err != nil {
			return err
		}
	}
	surely := false
	if b.base != nil && before != b.base && b.asksClearly(before) {
		shifted, err := b.shifted(before)
		surely = shifted == measure.Inside && err == nil
	}
	return fault.absent(surely, "no motor was commanded otherwise in %q than in %q, so that there is nothing to recover from", fault.Name, before.Name)
}
