package assertions

import (
	"fmt"
	"math"

	"hilrig/plant"
	"hilrig/rig/signal"
	"hilrig/rig/trace"
)

// judge returns one result for each motor: that of its largest jump.
func (c NoJump) judge(e *Evidence) []Result {
	s, err := e.step(c.Step)
	if err == nil && len(c.Motors) == 0 {
		err = noMotor(s)
	}
	if err != nil {
		return []Result{unjudged("no jump", err)}
	}
	results := make([]Result, 0, len(c.Motors))
	for _, corner := range c.Motors {
		name := fmt.Sprintf("%s jumps by at most %s", corner, share(c.Most))
		w, err := e.wheel(corner, s)
		if err != nil {
			results = append(results, unjudged(name, err))
			continue
		}
		results = append(results, e.jumps(name, corner, w, c.Most, s))
	}
	return results
}

// jump is the largest change from one command to the next.
type jump struct {
	by   float64 // share of range, at least 0; not a number where a command is none
	from float64
	to   trace.Frame
	high float64 // uncertainty of by
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
func (e *Evidence) jumps(name string, corner Corner, w plant.Wheel, most float64, s *Step) Result {
	if r, ok := e.outOfRange(name, corner, w, Limit{0, 1}, s); ok {
		return r
	}
	frames := e.frames(w, s)
	if len(frames) < fewest {
		return unjudged(name, e.few(w, s, len(frames)))
	}
	j := jumpOf(frames)
	r := judged(Result{Name: name, Step: s.Name, At: j.to.End}, Measurement{
		Quantity: "largest jump of " + called(corner, w), Unit: "%",
		Estimate: j.by * percent, Low: max(j.by-j.high, 0) * percent, High: (j.by + j.high) * percent, Limit: AtMost(most * percent),
	})
	if r.Verdict == Fail || r.Verdict == Undecided && r.Measured() {
		r.Why = fmt.Sprintf("%s jumped from %s to %s at %v; %s are allowed from one command to the next", called(corner, w), share(j.from), share(j.to.Value), j.to.End, share(most))
	}
	return r
}

// noWrap judges that no command leaps while the throttle goes slowly through
// its range with torque shifted: by more than the throttle itself does from
// pulse to pulse, the shift that the policy may switch at a limit, and three
// dead shifts. Where the policy declares no size, a fifth of the range stands
// for it.
func (b *branch) noWrap() []Result {
	own, from, to, err := b.throttleRamp()
	if err != nil {
		return []Result{unjudged(b.title(), err)}
	}
	most := own + 3*b.e.dead()
	if x, ok := b.expected(); ok {
		most += x
	} else {
		most += 0.2
	}
	var results []Result
	for _, m := range b.sides(nil) {
		w, _ := m.corner.Wheel(b.s.Turn(b.p))
		results = append(results, b.e.jumps(b.name(string(m.corner)+" does not leap"), m.corner, w, most, b.s))
	}
	if Worst(results) == Pass {
		if err := b.followsAndShifts(to - from); err != nil {
			return []Result{unjudged(b.title(), err)}
		}
	}
	return results
}

// throttleRamp returns the largest step of the throttle on the wire in the
// window, and its ends there.
func (b *branch) throttleRamp() (own, from, to float64, err error) {
	from, to = math.Inf(1), math.Inf(-1)
	last, n := 0.0, 0
	if b.e.Trace != nil {
		for _, x := range b.e.Trace.SentBetween(trace.SentThrottle, b.s.Applied-longestPulse, b.s.To) {
			if x.End < b.s.From || x.End >= b.s.To {
				continue
			}
			if n > 0 {
				own = max(own, math.Abs(x.Value-last))
			}
			last, from, to = x.Value, min(from, x.Value), max(to, x.Value)
			n++
		}
	}
	if n < fewest || !(to-from >= 0.9) {
		return 0, 0, 0, b.s.undecided("the throttle does not go through its range in this step; write throttle: {ramp: [0 %%, 100 %%], over: 2 s}")
	}
	if own > 0.05 {
		return 0, 0, 0, b.s.undecided("the throttle goes by %s from pulse to pulse, too fast for a leap to show; let it take longer", share(own))
	}
	return own, from, to, nil
}

// followsAndShifts is the positive control: the motors went along with the
// throttle, and some of them stood apart while they did.
func (b *branch) followsAndShifts(by float64) error {
	lowest, highest := math.Inf(1), math.Inf(-1)
	for _, w := range plant.Wheels {
		low, high := math.Inf(1), math.Inf(-1)
		for _, f := range b.e.frames(w, b.s) {
			low, high = min(low, f.Value), max(high, f.Value)
		}
		if high-low < by/2 {
			return b.s.fails("%s went from %s to %s only while the throttle went through %s, so that no wrap could show", w, share(low), share(high), share(by))
		}
		mean, err := b.e.mean(w, b.middle())
		if err != nil {
			return err
		}
		lowest, highest = min(lowest, mean.Value), max(highest, mean.Value)
	}
	if highest-lowest > b.e.dead() {
		return nil
	}
	verdict := Undecided
	if b.p.splitFor(b.s) != nil {
		verdict = Fail
	}
	return b.s.blockedAt(verdict, b.s.From, "no torque is shifted while the throttle goes through its range, so that no wrap could show; hold a yaw error")
}

// middle returns the middle half of the step's window.
func (b *branch) middle() *Step {
	half := *b.s
	quarter := signal.Time((b.s.To - b.s.From) / 4)
	half.From, half.To = b.s.From+quarter, b.s.To-quarter
	return &half
}
