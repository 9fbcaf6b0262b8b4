package assertions

import (
	"fmt"

	"hilrig/assertions/measure"
	"hilrig/rig/trace"
)

// loopRateByThrottle asks how often the board reads its inputs by when it answers the throttle, which every motor follows
// whatever is shifted. Where in a step of the same case the speed swings and motors surely follow it by the policy, it is not
// asked: that tells more of the control loop.
func (b *branch) loopRateByThrottle() []ask {
	for _, s := range b.swings() {
		by := *b
		by.s = s
		if by.swingUnmoved() == "" {
			return b.notAsked("by the policy motors follow the speed, which tells when it was last read, whatever task reads the receiver; ask it in a step in which that swings")
		}
	}
	return []ask{asking(loopRateName, (*branch).loopsByThrottle)}
}

// swings returns the steps of the case in which something moves all the time that is no trial.
func (b *branch) swings() (all []*Step) {
	for i := range b.e.Steps {
		if s := &b.e.Steps[i]; s.Moving && len(s.Changes) == 0 && !s.Swept {
			all = append(all, s)
		}
	}
	return all
}

// swingUnmoved says why, by the policy, no motor surely follows a speed that swings about the step's; empty where one does.
func (b *branch) swingUnmoved() string {
	// How far the speed swings is its shape's matter; a third either way is little of it.
	return b.unmoved(trace.Speed, b.s.Speed*2/3, b.s.Speed*4/3)
}

// loopsByThrottle judges that. Firmware may read its receiver in a slower task than it turns its loop in: a loop is too
// slow only where something else shows that nothing changes in between.
func (b *branch) loopsByThrottle() Result {
	t := b.e.byAnswers()
	r := b.byTurnsOf(&t)
	if r.Verdict == Pass {
		return r
	}
	if at := b.loopsAtLeast(&t); !t.ok || at.Verdict == Pass {
		r = at
	}
	if r.Verdict == Pass {
		return r
	}
	// A board whose motors follow the speed, though they need not, tells by it when it last read one of its inputs.
	for _, s := range b.swings() {
		by := *b
		by.s = s
		if swing := by.loopBySpeed(); swing.Verdict == Pass {
			return swing
		}
	}
	return r
}

// byTurnsOf judges the loop rate by the turns in which answers come, where they tell any.
func (b *branch) byTurnsOf(t *told) Result {
	if !t.ok {
		return Result{Verdict: Undecided}
	}
	r := b.loopByAnswers(&t.found)
	m, ok := r.Measurement()
	if !ok || r.Verdict != Fail {
		return r
	}
	const slower = "the board answers the throttle in turns that come %.4g times a second, but %s; hilrig rate may tell the loop's turns, else ask for no more than the rate at which the receiver is read"
	switch between := b.e.between(1 / m.High); {
	case between.moves():
		r.Verdict, r.Why = Undecided, fmt.Sprintf(slower, m.Estimate, "its commands change in between, on their way to another: it reads its receiver in a slower task")
	case t.channels < 2 && !between.stands():
		r.Verdict, r.Why = Undecided, fmt.Sprintf(slower, m.Estimate, "whether they change in between does not show: it may read its receiver in a slower task")
	}
	return r
}

// loopsAtLeast judges the loop rate where no turns show, by how long answers wait at most: a loop is quick enough whose
// turns come soon enough in any case.
func (b *branch) loopsAtLeast(t *told) Result {
	r := Result{Name: loopRateName, Step: b.s.Name, At: b.s.From, LeftOut: t.found.LeftOut, screened: true, Verdict: Undecided}
	if !finite(t.longest) {
		found, why := MeasureResponse(b.e, b.s)
		r.LeftOut, r.Why, r.RanTogether = found.LeftOut, why, found.NotEnded
		if why == "" {
			r.Why = "no motor answers the throttle"
		}
		return r
	}
	if m := b.soonEnough(t); m.Verdict == Pass {
		return m
	}
	r.Why = fmt.Sprintf("the answers to the throttle do not come in turns that can be told: with its motor frames the board leaves them to wait for a turn as long as %.4g ms; hilrig rate may tell the loop's turns by more answers", t.longest*1000)
	return r
}

// soonEnough judges the loop rate by how long answers wait at most; what is no pass tells nothing.
func (b *branch) soonEnough(t *told) Result {
	if !finite(t.longest) {
		return Result{Verdict: Undecided}
	}
	found := LoopFound{Updates: measure.Updates{Period: t.longest, Within: measure.Interval{Low: t.longest, High: t.longest}}, LeftOut: t.found.LeftOut}
	return b.judgedLoop(&found, "loop rate at least, by answers of ")
}
