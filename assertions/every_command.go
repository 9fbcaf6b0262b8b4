package assertions

import (
	"fmt"
	"math"
	"slices"

	"hilrig/assertions/law"
	"hilrig/plant"
	"hilrig/rig/signal"
	"hilrig/rig/trace"
)

const (
	// answered is after how long at most a board has answered of which the policy declares no
	// response: what the standard suites let a hold settle. Common practice, no source.
	answered = 300 * signal.Millisecond
	// burst is within how long commands are taken as one, for which the law is asked once; the
	// check's own definition.
	burst = 4 * signal.Millisecond
)

// EveryCommand is the name of what is asked of each command of a case.
const EveryCommand = "every command within the policy"

// everyCommand judges each single command of a case by the law of what went out before it: by the
// one that is farthest outside of what the policy allows. It looks from the case's beginning to the first
// fault of the wires, after which losses and recoveries have words of their own.
func (e *Evidence) everyCommand() Result {
	if why := e.everyCommandUnasked(); why != "" {
		return Result{Name: EveryCommand, Verdict: NotAsked, Why: why, Step: e.Steps[0].Name, At: e.Steps[0].From}
	}
	var far [4]farCommand
	for _, one := range e.played() {
		if err := one.everyCommandOf(&far); err != nil {
			return unjudged(EveryCommand, err)
		}
	}
	return worstMotor(EveryCommand, func(w plant.Wheel) (Result, error) { return far[w].judged(e, w) })
}

// everyCommandUnasked says why nothing is asked of each command of a case, "" where something is. It reads
// no trace.
func (e *Evidence) everyCommandUnasked() string {
	n, known := e.beforeFaults(), e.unshiftedKnown()
	switch {
	case e.Steps[0].PowerUp:
		return "the board was just powered up, and what it does until it drives has words of its own"
	case n == 0:
		return "something is wrong with the wires from the beginning, and what a board then does has words of its own"
	}
	l, whole := e.law(), 1-e.Lowest
	for i := range e.Steps[:n] {
		in := e.meant(&e.Steps[i])
		if !known {
			in.Unshifted = anything(e.Lowest)
		}
		a := l.At(&in)
		for _, c := range a.Commands {
			if c.Width() < whole-float64(2*e.deadShift())-little {
				return ""
			}
		}
	}
	return "the policy says nothing of what is played but that commands lie in their range"
}

// anything is what motors may be commanded of which nothing is known.
func anything(lowest float64) (all [4]Limit) {
	for i := range all {
		all[i] = between(lowest, 1)
	}
	return all
}

// beforeFaults returns the number of the first step with a fault, that of all steps where none has any.
func (e *Evidence) beforeFaults() int {
	for i := range e.Steps {
		if !e.Steps[i].sound() {
			return i
		}
	}
	return len(e.Steps)
}

// unshiftedKnown says whether it is known what the motors are commanded with no shift: from the throttle, or
// from a baseline at the throttle and the speed of every other step.
func (e *Evidence) unshiftedKnown() bool {
	if e.curveKnown() {
		return true
	}
	base, ok := e.Baseline()
	for i := range e.Steps {
		s := &e.Steps[i]
		changes := (s.Swept || len(s.Changes) > 0) && (s.Changed == trace.Throttle || s.Changed == trace.Speed)
		ok = ok && !s.Moving && !changes && s.Throttle == base.Throttle && s.Speed == base.Speed
	}
	return ok
}

// law returns the policy as a law of this bench's motor commands.
func (e *Evidence) law() *law.Law {
	return law.New(e.policy(), law.Scale{Lowest: e.Lowest, Step: e.CommandStep})
}

// farCommand is the command of a motor that is farthest outside of what is allowed.
type farCommand struct {
	n       int // how many were looked at
	past    float64
	frame   trace.Frame
	limit   Limit
	run     *Evidence   // in which it is
	step    *Step       // of that run
	burst   signal.Time // when the first command of those that the law was asked for with it ended
	horizon signal.Time
}

// everyCommandOf looks at all commands of one run.
func (e *Evidence) everyCommandOf(far *[4]farCommand) error {
	l := e.law()
	c := commands{e: e, l: l, far: far}
	for i := range e.Steps {
		s := &e.Steps[i]
		from, to := s.Applied, s.To
		for _, f := range s.Faults {
			to = min(to, f.From)
		}
		if c.envelope == nil || e.Trace.Folds() {
			if err := c.read(s); err != nil {
				return err
			}
		}
		if !e.Trace.Folds() || e.Trace.Kept(from, to) {
			c.look(s, from, to)
		}
		if !s.sound() {
			break
		}
	}
	return nil
}

// commands are those of one run being looked at.
type commands struct {
	e        *Evidence
	l        *law.Law
	horizon  signal.Time
	envelope *law.Envelope
	far      *[4]farCommand
}

// read reads what was played for a step and, where the trace has all of it, for the others.
func (c *commands) read(s *Step) error {
	h := c.e.history(s)
	for _, series := range [...]*law.Series{&h.Steer, &h.Throttle, &h.Gain, &h.YawRate, &h.Speed} {
		if series.Len() == 0 {
			return s.undecided("the trace does not hold what was played, so that nothing can be declared for it")
		}
	}
	h.Curve = c.e.Curve
	if !c.e.curveKnown() && c.e.unshiftedKnown() {
		curve, err := c.e.standingCurve()
		if err != nil {
			return err
		}
		h.Curve = curve
	}
	c.horizon = c.e.looksBack(c.l, &h)
	c.envelope = c.l.Envelope(&h, c.horizon)
	return nil
}

// historyHeld returns what was played to the board for a step; where the trace does not have the speed,
// that which was held.
func (e *Evidence) historyHeld(s *Step) law.History {
	h := e.history(s)
	if h.Speed.Len() == 0 {
		h.Speed.Add(math.MinInt64/2, s.Speed)
	}
	return h
}

// standingCurve returns what the motors are commanded with no shift where the throttle stays as it is in
// the baseline: what they stand at there less what firmware that keeps the policy may shift there.
func (e *Evidence) standingCurve() (*law.Curve, error) {
	base, _ := e.Baseline()
	b := &branch{e: e, p: e.policy(), s: base, base: base}
	none, known, err := b.noShiftAt()
	for i := range none {
		none[i].Low, none[i].High = none[i].Low-known[i], none[i].High+known[i]
	}
	return &law.Curve{Throttle: []float64{0}, Motors: [][4]Limit{none}}, err
}

// looksBack returns how far before its end what a command rests on may lie. A declared response is
// that of most answers: one of the others may miss a turn of the loop, and come as much later again.
func (e *Evidence) looksBack(l *law.Law, h *law.History) signal.Time {
	back := l.Horizon(h)
	r := e.policy().Response
	if r == nil || !(r.AtMost > 0) {
		longest := answered
		for i := range e.Steps {
			longest = max(longest, e.Steps[i].From-e.Steps[i].Applied)
		}
		return back + longest
	}
	if r.Quantile < 1 {
		back += r.AtMost
	}
	return back
}

// look looks at the commands of a step that ended in from..to.
func (c *commands) look(s *Step, from, to signal.Time) {
	var frames [4][]trace.Frame
	for _, w := range plant.Wheels {
		frames[w] = c.e.unmoved(c.e.Trace.Motor[w].Between(from, to), s)
	}
	for {
		first := signal.Time(math.MaxInt64)
		for _, f := range frames {
			if len(f) > 0 {
				first = min(first, f[0].End)
			}
		}
		if first == math.MaxInt64 {
			return
		}
		a, ok := c.envelope.Within(first, first+burst)
		if _, late := c.e.lateIn(first-c.horizon, first+burst); late {
			ok = false
		}
		for w := range frames {
			for len(frames[w]) > 0 && frames[w][0].End <= first+burst {
				if ok {
					c.far[w].hold(c, s, &frames[w][0], first, a.Commands[w])
				}
				frames[w] = frames[w][1:]
			}
		}
	}
}

// pastOf returns by how much a command lies outside of what the law says of it, give or take the shift
// that counts as none; below 0 by how much inside.
func (e *Evidence) pastOf(f *trace.Frame, allowed Limit) (past float64, limit Limit) {
	t := e.deadShift()
	limit = between(allowed.Low-t, allowed.High+t)
	return max(limit.Low-f.Value, f.Value-limit.High), limit
}

// hold holds a command against what the law says of it, one of a burst.
func (x *farCommand) hold(c *commands, s *Step, f *trace.Frame, burst signal.Time, allowed Limit) {
	past, limit := c.e.pastOf(f, allowed)
	if x.n++; x.n > 1 && (math.IsNaN(x.past) || past-f.Uncertainty <= x.past-x.frame.Uncertainty) {
		return
	}
	*x = farCommand{n: x.n, past: past, frame: *f, limit: limit, run: c.e, step: s, burst: burst, horizon: c.horizon}
}

// keys returns the keys of the policy that rule out the command: loosened in one of them, the law would not.
func (x *farCommand) keys(w plant.Wheel) []string {
	p := x.run.policy()
	return slices.DeleteFunc(law.Keys(), func(key string) bool { return !says(p, key) || !x.allowedBy(p.Loosened(key), w) })
}

// allowedBy says whether a policy does not rule out the command.
func (x *farCommand) allowedBy(p law.Policy, w plant.Wheel) bool {
	e := *x.run
	e.Policy = &p
	c := commands{e: &e, l: e.law()}
	if c.read(x.step) != nil {
		return true // it is not known where the motors stand with no shift
	}
	a, ok := c.envelope.Within(x.burst, x.burst+burst)
	past, _ := e.pastOf(&x.frame, a.Commands[w])
	return !ok || past <= x.frame.Uncertainty
}

// judged judges a motor by the command that is farthest outside.
func (x *farCommand) judged(e *Evidence, w plant.Wheel) (Result, error) {
	switch {
	case x.n == 0 && len(e.Trace.Motor[w].Between(e.Steps[0].Applied, e.Steps[0].To)) == 0:
		return Result{}, e.silent(w, &e.Steps[0])
	case x.n == 0:
		return Result{}, e.Steps[0].undecided("no command came late enough in the case that all was known which it may rest on; play longer")
	}
	f, s := &x.frame, x.step
	if math.IsNaN(x.past) || math.IsNaN(f.Uncertainty) {
		return Result{}, s.blockedAt(Undecided, f.End, "the command of %s at %v is no number", line(w), f.End)
	}
	r := judged(Result{Name: EveryCommand, Step: s.Name, At: f.End}, Measurement{
		Quantity: fmt.Sprintf("farthest that one of %d commands of %s went past what is allowed", x.n, w), Unit: "%",
		Estimate: x.past * percent, Low: (x.past - f.Uncertainty) * percent, High: (x.past + f.Uncertainty) * percent, Limit: AtMost(0),
	})
	if r.Verdict == Fail {
		r.Keys = x.keys(w)
	}
	within := fmt.Sprintf("of what went out in the %s before the policy says %s to %s", x.horizon.Short(), share(x.limit.Low), share(x.limit.High))
	return r.explained(fmt.Sprintf("%s was commanded to %s at %v; %s", w, share(f.Value), f.End, within),
		fmt.Sprintf("%s was commanded to %s at %v, known to ±%s only; %s; sample faster", w, share(f.Value), f.End, share(f.Uncertainty), within)), nil
}
