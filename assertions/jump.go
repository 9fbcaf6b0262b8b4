package assertions

import (
	"cmp"
	"fmt"
	"math"

	"hilrig/assertions/law"
	"hilrig/assertions/measure"
	"hilrig/plant"
	"hilrig/rig/signal"
	"hilrig/rig/trace"
)

// judge returns one result for each motor: that of its largest jump.
func (c NoJump) judge(e *Evidence) []Result {
	s, err := e.step(c.Step)
	return eachMotor("no jump", c.Motors, s, err, func(corner law.Corner) Result {
		return e.jumps(fmt.Sprintf("%s jumps by at most %s", corner, share(c.Most)), corner, c.Most, s)
	})
}

// jump is the largest change from one command to the next.
type jump struct {
	by          float64 // share of range, at least 0; not a number where a command is none
	from        float64
	to          trace.Frame
	uncertainty float64 // of by
}

// jumpOf returns the largest jump in frames, of which there are at least two.
func jumpOf(frames []trace.Frame) jump {
	worst := jump{by: -1}
	for i := 1; i < len(frames); i++ {
		by := math.Abs(frames[i].Value - frames[i-1].Value)
		if uncertainty := frames[i].Uncertainty + frames[i-1].Uncertainty; !(by <= worst.by) || math.IsNaN(uncertainty) {
			worst = jump{by, frames[i-1].Value, frames[i], uncertainty}
			if math.IsNaN(by) || math.IsNaN(uncertainty) {
				return worst
			}
		}
	}
	return worst
}

// jumps judges a motor's largest change from one command to the next. A pulse
// too long or too short to be a command breaks any limit.
func (e *Evidence) jumps(name string, corner law.Corner, most float64, s *Step) Result {
	w, err := e.wheel(corner, s)
	if err == nil {
		err = e.outOfRange(corner, w, between(0, 1), s)
	}
	var frames []trace.Frame
	if err == nil {
		frames, err = e.enough(w, s)
	}
	if err != nil {
		return unjudged(name, err)
	}
	j := jumpOf(frames)
	r := magnitude(Result{Name: name, Step: s.Name, At: j.to.End}, "largest jump of "+called(corner, w), "%", j.by, j.uncertainty, most, percent)
	why := fmt.Sprintf("%s jumped from %s to %s at %v; %s are allowed from one command to the next", called(corner, w), share(j.from), share(j.to.Value), j.to.End, share(most))
	return r.tooNear(why, "the check's own limit")
}

// noWrap asks that no command leaps while the throttle goes slowly through its range with torque shifted: from
// one command to the next by more than the law lets two of them stand apart. Where the policy
// does not declare the size of a shift, or what the firmware makes of the throttle, by more than the throttle itself from pulse to pulse, the largest shift that the
// law has on the way, three dead shifts and a fifth of the range for where the motors set in.
func (b *branch) noWrap() []ask {
	if b.goesWholeAtTheFloor() {
		return b.notAsked("the policy has no shift_at, and a shift of whatever size may go as a whole where the throttle comes to the floor, at which it is scaled")
	}
	most := 3*b.e.deadShift() + b.largestShift()
	if !b.e.curveKnown() {
		most += sizeUndeclared
	}
	half, at := *b.s, *b
	half.Throttle, at.base = 0.5, nil
	if b.leftOut(&half) {
		return b.notAsked("the policy leaves out what is shifted by this yaw error, and without a shift no wrap could show")
	}
	asked, surely := at.asksClearly(&half), at.surelyGoes()
	return asks(b.sides(nil), func(m side) ask {
		name := b.name(string(m.corner) + " does not leap")
		return asking(name, func(b *branch) Result {
			own, by, err := b.throttleRamp()
			if err != nil {
				return unjudged(name, err)
			}
			leap := func() Result { return b.e.jumps(name, m.corner, own+most, b.s) }
			if b.e.curveKnown() && sized(b.p) && b.p.Demand != nil {
				leap = func() Result { return b.leaps(name, m.corner) }
			}
			return b.controlled(leap(), func() error { return b.followsAndShifts(by, surely, asked) })
		})
	})
}

// leaps judges a motor's change from one command to the next that goes farthest past what the law lets two
// commands stand apart.
func (b *branch) leaps(name string, corner law.Corner) Result {
	w, err := b.e.wheel(corner, b.s)
	if err == nil {
		err = b.e.outOfRange(corner, w, between(0, 1), b.s)
	}
	var frames []trace.Frame
	if err == nil {
		frames, err = b.e.enough(w, b.s)
	}
	if err != nil {
		return unjudged(name, err)
	}
	h, l, t := b.e.historyHeld(b.s), b.e.law(), b.e.deadShift()
	h.Curve = b.e.Curve
	envelope := l.Envelope(&h, b.e.looksBack(l, &h))
	worst, past, allowed, found := jump{}, math.Inf(-1), 0.0, false
	last, known := Limit{}, false
	for i, f := range frames {
		a, ok := envelope.Within(f.End, f.End)
		now := between(a.Commands[w].Low-t, a.Commands[w].High+t)
		if ok && known {
			most := max(now.High-last.Low, last.High-now.Low)
			one := jumpOf(frames[i-1 : i+1])
			if x := one.by - most; !(x <= past) && !math.IsNaN(past) {
				worst, past, allowed, found = one, x, most, true
			}
		}
		last, known = now, ok
	}
	if !found {
		return unjudged(name, b.s.undecided("no two commands came late enough that all was known which they may rest on; play longer"))
	}
	r := magnitude(Result{Name: name, Step: b.s.Name, At: worst.to.End}, "jump of "+called(corner, w)+" that is nearest to what is allowed", "%", worst.by, worst.uncertainty, allowed, percent)
	why := fmt.Sprintf("%s jumped from %s to %s at %v; of what went out before the policy lets two commands stand %s apart", called(corner, w), share(worst.from), share(worst.to.Value), worst.to.End, share(allowed))
	return r.tooNear(why, "the policy's dead_shift")
}

// goesWholeAtTheFloor says whether a shift of no declared size may go from all of it to nothing as the throttle comes
// up to the floor: below that motors may be lowered to the end of the range, and at it they have no room.
func (b *branch) goesWholeAtTheFloor() bool {
	at := cmp.Or(b.p.AtTheFloor, b.p.AtTheLimit)
	return b.p.ShiftAt == nil && b.p.Floor != nil && *b.p.Floor > 0 && (at == 0 || at == law.LimitScale)
}

// largestShift returns the largest shift that the law has for any motor while the throttle goes
// through its range.
func (b *branch) largestShift() float64 {
	if !sized(b.p) || b.p.Demand == nil {
		if at := b.p.ShiftAt; at != nil { // at a limit it may come or go as a whole
			return max(sizeUndeclared, at.Most)
		}
		return sizeUndeclared
	}
	most := 0.0
	for _, throttle := range []float64{0.05, 0.5, 0.95} {
		at, s := *b, *b.s
		s.Throttle = throttle
		at.s, at.base = &s, nil
		d := at.meant(&s)
		if d.missing != "" {
			return sizeUndeclared
		}
		for _, i := range d.bare {
			most = max(most, i.High, -i.Low)
		}
	}
	return most
}

// throttleSteps returns the largest step of the throttle on the wire in the window, from
// pulse to pulse, its ends there, and how many pulses there are.
func (b *branch) throttleSteps() (most float64, ends Limit, n int) {
	ends = measure.RangeOf()
	if b.e.Trace == nil {
		return 0, ends, 0
	}
	last := 0.0
	for _, x := range b.e.Trace.SentBetween(trace.SentThrottle, b.s.Applied-longestPulse, b.s.To) {
		if x.End < b.s.From || x.End >= b.s.To {
			continue
		}
		if n > 0 {
			most = max(most, math.Abs(x.Value-last))
		}
		last = x.Value
		ends.Include(last)
		n++
	}
	return most, ends, n
}

// throttleRamp returns the largest step of the throttle on the wire in the
// window, and how far it goes there.
func (b *branch) throttleRamp() (own, by float64, err error) {
	own, ends, n := b.throttleSteps()
	by = ends.Width()
	if n < fewest || !(by >= 0.9) {
		return 0, 0, b.s.undecided("the throttle does not go through its range in this step; write throttle: {ramp: [0 %%, 100 %%], over: 2 s}")
	}
	if own > 0.05 {
		return 0, 0, b.s.undecided("the throttle goes by %s from pulse to pulse, too fast for a leap to show; let it take longer", share(own))
	}
	return own, by, nil
}

// surelyGoes returns how far each motor goes at least by the policy while the throttle goes from idle to full, less
// than 0 where it may not go at all: one that is shifted far may be little commanded at full throttle.
func (b *branch) surelyGoes() (by [4]float64) {
	l := b.e.law()
	at := func(throttle float64) law.Answer {
		s := *b.s
		s.Throttle = throttle
		in := b.e.meant(&s)
		return l.At(&in)
	}
	if b.p.ShiftAt == nil {
		return b.goesUnshifted()
	}
	idle, full := at(0), at(1)
	for i := range by {
		by[i] = full.Commands[i].Low - idle.Commands[i].High
	}
	return by
}

// goesUnshifted is surelyGoes where any size of the shift is right: the motors that are shifted may stand at their
// limits all the way, and only the others go.
func (b *branch) goesUnshifted() (by [4]float64) {
	half := *b.s
	half.Throttle = 0.5
	for _, m := range b.sides(splitFor(b.p, &half)) {
		if w, ok := m.corner.Wheel(b.s.Turn(b.p)); ok && m.is == Unchanged {
			by[w] = 1 - sizeUndeclared
		}
	}
	return by
}

// followsAndShifts is the positive control: the motors went along with the
// throttle, at least half as far as it went or surely is said of them, and some of them stood apart while they did.
func (b *branch) followsAndShifts(by float64, surely [4]float64, asked bool) error {
	means := measure.RangeOf()
	for _, w := range plant.Wheels {
		if l := rangeOf(b.e.frames(w, b.s)); l.Width() < min(by, surely[w])/2 {
			return b.s.fails("%s went from %s to %s only while the throttle went through %s, so that no wrap could show", w, share(l.Low), share(l.High), share(by))
		}
		mean, err := b.e.mean(w, b.middle())
		if err != nil {
			return err
		}
		means.Include(mean.Value)
	}
	if means.Width() > b.e.deadShift() {
		return nil
	}
	return b.s.absent(asked, "no torque is shifted while the throttle goes through its range, so that no wrap could show; hold a yaw error")
}

// middle returns the middle half of the step's window.
func (b *branch) middle() *Step {
	half := *b.s
	quarter := signal.Time((b.s.To - b.s.From) / 4)
	half.From, half.To = b.s.From+quarter, b.s.To-quarter
	return &half
}
