package assertions

import (
	"fmt"
	"math"
	"slices"

	"hilrig/assertions/law"
	"hilrig/assertions/measure"
	"hilrig/plant"
	"hilrig/rig/signal"
	"hilrig/rig/trace"
	"hilrig/stimulus"
)

// badChecksum asks of a step all of whose yaw frames have a wrong checksum and
// carry another yaw rate than the step before: one that, believed, would shift
// the motors farther or the other way. Every command has to stay between that
// with the shift of the step before and that without any, or where the board may stop for it at
// idle. Where the policy says what a lost yaw rate asks for, this is one.
func (b *branch) badChecksum() []ask {
	name := b.name("commands keep away from the wrong value")
	before, err := b.beforeWrongValue()
	all := []ask{b.sinceChecksum(name, func(b *branch, c *onset) Result { return b.between(name, before, c.at, c.end) }).orUnshown(err)}
	at, vanishes := b.p.ShiftAt, b.shiftBeforeVanishes()
	if vanishes != "" {
		all = []ask{notAsking(name, vanishes)}
	}
	switch {
	case b.p.YawLost == nil:
	case vanishes != "" && b.p.YawLost.Then == law.LossNoShift:
		all = append(all, notAsking(b.name("as if lost"), vanishes))
	case b.p.YawLost.Then == law.LossNoShift && (at == nil || at.Grows == law.GrowthIntegrating):
		all = append(all, notAsking(b.name("as if lost"), "the shift has, or may have, a memory, which moves while the frames are corrupt"))
	default:
		all = append(all, b.asYawLost(b.p.YawLost).orUnshown(err))
	}
	return all
}

// asYawLost asks what the policy says of a yaw rate that is lost.
func (b *branch) asYawLost(l *law.Loss) ask {
	within := l.Within
	switch l.Then {
	case law.LossIdle:
		name := b.name("as if lost, idle within " + within.Short())
		return b.sinceChecksum(name, func(b *branch, c *onset) Result { return b.safeAfter(name, c, within) })
	case law.LossNoShift:
		name := b.name("as if lost, no shift within " + within.Short())
		return b.sinceChecksum(name, func(b *branch, c *onset) Result { return b.noShiftWithin(name, c, within, (*branch).shiftBefore) })
	}
	wrong := lossKind{key: "yaw_lost", onset: (*branch).lastChecked}
	return b.drivesOn(&wrong, b.name("as if lost, drives on as if nothing were"))
}

// lastChecked finds the last frame of the yaw-rate sensor with a right checksum.
func (b *branch) lastChecked() (onset, error) {
	return b.lossOf(isSerial, "yaw_serial", trace.SentYawRate, stimulus.WrongChecksum)
}

// sinceChecksum asks something of what follows on the last frame with a right checksum.
func (b *branch) sinceChecksum(name string, judge func(b *branch, c *onset) Result) ask {
	return asking(name, func(b *branch) Result {
		c, err := b.lastChecked()
		if err != nil {
			return unjudged(name, err)
		}
		return judge(b, &c)
	})
}

// beforeWrongValue returns the step before, after seeing that its value and the
// wrong one can be told apart by what they ask for.
func (b *branch) beforeWrongValue() (*Step, error) {
	before := b.lastBefore(func(s *Step) bool { return !s.Baseline && s.sound() })
	if before == nil {
		return nil, b.s.undecided("the case has no step before this one that holds another yaw rate without the fault; add one")
	}
	right, wrong := before.Demand-before.YawRate, b.s.Demand-b.s.YawRate
	if right*wrong >= 0 && math.Abs(wrong) < 1.5*math.Abs(right) {
		return nil, b.s.undecided("a board that believed the yaw rate of %s deg/s could not be told from one that keeps to that of %q, %s deg/s; play one on the other side of the demand", degrees(b.s.YawRate), before.Name, degrees(before.YawRate))
	}
	return before, nil
}

// between judges by its worst frame whether every command from one time to
// another stays between those with and without the shift of a step before.
func (b *branch) between(name string, before *Step, from, to signal.Time) Result {
	none, _, err := b.noShiftAt()
	if err != nil {
		return unjudged(name, err)
	}
	worst := worstMotor(name, func(w plant.Wheel) (Result, error) { return b.motorBetween(name, w, none[w], before, from, to) })
	return b.controlled(worst, b.shiftBefore)
}

// mayStop says whether a board may go to the safe state for want of a yaw rate.
func (b *branch) mayStop() bool { return b.p.YawLost == nil || b.p.YawLost.Then == law.LossIdle }

// motorBetween judges one motor, which is commanded to none with no shift.
func (b *branch) motorBetween(name string, w plant.Wheel, none Limit, before *Step, from, to signal.Time) (Result, error) {
	t := b.e.deadShift()
	in := readings{e: b.e}
	baseline, shift := in.mean(w, b.base), in.shiftBeyond(w, before, b.base)
	frames := b.e.Trace.Motor[w].Between(from, to)
	stops := b.mayStop()
	if in.err == nil && !(stops && b.p.SafeState != law.OutputsIdle) {
		in.err = b.e.stopped(w, from, to, b.s)
	}
	if in.err != nil {
		return Result{}, in.err
	}
	at := baseline.Value + b.s.Throttle - b.base.Throttle
	kept := measure.RangeOf(at + shift.Value)
	for _, f := range withoutUncertain(b.e.frames(w, before)) { // a board keeps its last value, with the noise that it has
		if finite(f.Value) {
			kept.Include(f.Value + (b.s.Throttle - before.Throttle))
		}
	}
	if times := b.keptTimes(before); !sized(b.p) && times > 1 {
		kept.Include(at+(kept.Low-at)*times, at+(kept.High-at)*times)
	}
	limit := between(min(kept.Low, none.Low)-t, max(kept.High, none.High)+t)
	known := max(baseline.Expanded(), shift.Expanded())
	if b.remembers() && b.e.allAway(w, lastHalf(before), baseline.Value+before.Throttle-b.base.Throttle, baseline.Expanded()) {
		known = baseline.Expanded()
		if shift.Value > 0 { // it may grow on while the last value holds
			limit.High = 1
		} else {
			limit.Low = b.e.Lowest
		}
	}
	if b.leftOut(before) && math.Abs(shift.Value) > t { // how its shift goes with the wheels' speeds there nobody says
		limit = between(b.e.Lowest, 1)
	}
	if stops {
		limit.Low = min(limit.Low, -t)
	}
	if len(frames) == 0 && stops {
		return judged(Result{Name: name, Step: b.s.Name, At: from}, Measurement{Quantity: "commands of " + w.String() + " after the last right frame", Limit: AtMost(0)}), nil
	}
	far, limit, err := b.farthestKept(w, before, b.e.unmoved(frames, b.s), limit, known)
	if err != nil {
		return Result{}, err
	}
	uncertainty := far.Uncertainty + known
	limit = b.e.openAtRange(limit, uncertainty+t)
	past := max(limit.Low-far.Value, far.Value-limit.High)
	r := judged(Result{Name: name, Step: b.s.Name, At: far.End}, Measurement{
		Quantity: "farthest that a command went past its place, " + w.String(), Unit: "%",
		Estimate: past * percent, Low: (past - uncertainty) * percent, High: (past + uncertainty) * percent, Limit: AtMost(0),
	})
	why := fmt.Sprintf("%s was commanded to %s at %v; with the value of %q kept or given up it stays within %s to %s", w, share(far.Value), far.End, before.Name, share(limit.Low), share(limit.High))
	return r.tooNear(why, "the policy's dead_shift"), nil
}

// openAtRange returns a limit of commands that is wider by so much where it reaches to an end of the range, beyond which
// none can lie: what stands there is read about it.
func (e *Evidence) openAtRange(limit Limit, by float64) Limit {
	if limit.High >= 1-little {
		limit.High += by
	}
	if limit.Low <= e.Lowest+little {
		limit.Low -= by
	}
	return limit
}

// keptTimes returns how many times as large as in a step before the yaw error may be while a board keeps that step's yaw
// rate, at least 1: the wheels go at what the yaw rate that is played makes of their speeds, and the demand with them.
func (b *branch) keptTimes(before *Step) float64 {
	d, most := b.p.Demand, 1.0
	if d == nil || b.e.Car == nil {
		return most
	}
	band := 0.0
	if b.p.DeadBand != nil {
		band = *b.p.DeadBand
	}
	now, then := b.demandsBy(b.s.YawRate), b.demandsBy(before.YawRate)
	for i := range now {
		for _, off := range [...]float64{1 - d.Within, 1 + d.Within} {
			was := math.Abs(off*then[i]-before.YawRate) - band
			if was > 0 {
				most = max(most, (math.Abs(off*now[i]-before.YawRate)-band)/was)
			}
		}
	}
	return most
}

// demandsBy returns what may be demanded in the step, rad/s, with its wheels as a yaw rate in rad/s has them: one
// value where the policy says by which wheels the speed goes, else that by each.
func (b *branch) demandsBy(yawRate float64) []float64 {
	d, hubs := b.p.Demand, b.e.hubsMeant(b.s, yawRate)
	if d.SpeedFrom != 0 {
		return []float64{d.YawRate(d.SpeedFrom.Of(hubs), b.s.Steer)}
	}
	all := make([]float64, 0, len(hubs))
	for _, v := range hubs {
		all = append(all, d.YawRate(v, b.s.Steer))
	}
	return all
}

// goesWithWheels says whether more of a shift than the yaw error may go with the speeds of the wheels: shares that vary, what
// fades with the demand or the speed, motors that traction control cuts, and what is done where a motor comes to a limit.
func (b *branch) goesWithWheels(before *Step) bool {
	p := b.p
	varies := func(s *law.Split) bool { return s != nil && s.Varies }
	fades := p.Straight != nil && p.Straight.Demand != nil || p.Standstill != nil && p.Standstill.Full > p.Standstill.From
	if varies(p.Understeer) || varies(p.Oversteer) || fades || p.TractionControl != nil {
		return true
	}
	if b.e.Car == nil {
		return false
	}
	in := b.e.meant(before)
	for i, v := range b.e.hubsMeant(b.s, b.s.YawRate) {
		in.Wheels[i].Include(v)
	}
	a := b.e.law().At(&in)
	return slices.Contains(a.Perhaps[:], true)
}

// farthestKept returns the frame that is farthest past what a motor may be commanded, and that: limit or, where the policy
// declares a size or more than that goes with the wheels, what the law says of the value of the step before, for the other
// inputs go on to move. limit is known to so much.
func (b *branch) farthestKept(w plant.Wheel, before *Step, frames []trace.Frame, limit Limit, known float64) (trace.Frame, Limit, error) {
	far, kept := farthest(frames, limit, b.s), *b
	kept.s = before
	inside := func(f *trace.Frame) bool {
		u := known + f.Uncertainty
		return f.Value-u >= limit.Low && f.Value+u <= limit.High
	}
	if inside(&far) || !sized(b.p) && !b.goesWithWheels(before) || kept.unsaid() != "" {
		return far, limit, nil
	}
	h, err := b.heldLaw(&lossKind{}, nil)
	if err != nil {
		return far, limit, err
	}
	most, excess := limit, math.Inf(-1)
	for _, f := range frames {
		l := limit
		if !inside(&f) {
			kept, err := h.allowed(w, f.End)
			if err != nil {
				return far, limit, err
			}
			l.Include(kept.Low, kept.High)
		}
		if x := max(l.Low-f.Value, f.Value-l.High); !(x <= excess) {
			far, most, excess = f, l, x
		}
	}
	return far, most, nil
}

// farthest returns the frame that is farthest past limit, or least inside it; without
// frames one at the beginning of s whose value is no number.
func farthest(frames []trace.Frame, limit Limit, s *Step) trace.Frame {
	if len(frames) == 0 {
		return trace.Frame{Value: math.NaN(), End: s.From}
	}
	worst, excess := frames[0], math.Inf(-1)
	for _, f := range frames {
		x := max(limit.Low-f.Value, f.Value-limit.High)
		if math.IsNaN(x) || math.IsNaN(f.Uncertainty) {
			return f
		}
		if x > excess {
			worst, excess = f, x
		}
	}
	return worst
}
