package assertions

import (
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
	return r.explained(why, why)
}

// noWrap asks that no command leaps while the throttle goes slowly through
// its range with torque shifted: by more than the throttle itself does from
// pulse to pulse, the largest shift that the law has on the way, since the policy may switch it at a
// limit, and three dead shifts. Where the policy declares no size, a fifth of the range stands
// for it, and where it does not declare that the throttle is passed on as it is, another for
// where the motors set in.
func (b *branch) noWrap() []ask {
	most := 3*b.e.deadShift() + b.largestShift()
	if b.p.ThrottleCurve != law.ThrottleCurveNone {
		most += sizeUndeclared
	}
	half, at := *b.s, *b
	half.Throttle, at.base = 0.5, nil
	asked := at.asksClearly(&half)
	return asks(b.sides(nil), func(m side) ask {
		name := b.name(string(m.corner) + " does not leap")
		return asking(name, func(b *branch) Result {
			own, by, err := b.throttleRamp()
			if err != nil {
				return unjudged(name, err)
			}
			return b.controlled(b.e.jumps(name, m.corner, own+most, b.s), func() error { return b.followsAndShifts(by, asked) })
		})
	})
}

// largestShift returns the largest shift that the law has for any motor while the throttle goes
// through its range.
func (b *branch) largestShift() float64 {
	if !sized(b.p) || b.p.Demand == nil {
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

// followsAndShifts is the positive control: the motors went along with the
// throttle, and some of them stood apart while they did.
func (b *branch) followsAndShifts(by float64, asked bool) error {
	means := measure.RangeOf()
	for _, w := range plant.Wheels {
		if l := rangeOf(b.e.frames(w, b.s)); l.Width() < by/2 {
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
