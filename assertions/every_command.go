package assertions

import (
	"math"

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

// everyCommand judges each single command of a case by the law of what went out before it, and of what the policy says
// of losses and of what follows on them: by the one that is farthest outside of what that allows. It looks from the
// case's beginning to the first fault of the wires of which the policy says nothing.
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
	var all [4]Result
	worst := worstMotor(EveryCommand, func(w plant.Wheel) (r Result, err error) {
		all[w], err = far[w].judged(e, w)
		return all[w], err
	})
	for i, w := range plant.Wheels {
		if all[i].measured == worst.measured && worst.Verdict == Fail && worst.Measured() {
			worst.Keys = far[i].told().keys(w)
			break
		}
	}
	return worst
}

// everyCommandUnasked says why nothing is asked of each command of a case, "" where something is. It reads
// no trace.
func (e *Evidence) everyCommandUnasked() string {
	lapses, until := e.lapses(0)
	switch {
	case e.Steps[0].PowerUp && e.policy().StartState == 0:
		return "the board was just powered up, and the policy has no start, which says what it does until it drives"
	case until <= e.Steps[0].Applied:
		return "something is wrong with the wires from the beginning, and the policy does not say what the board then does, or it is not known what it went by"
	}
	for i := range lapses {
		if l := &lapses[i]; l.loss != nil && l.loss.Then == law.LossIdle && l.due < l.end && l.due < until {
			return ""
		}
	}
	known := e.unshiftedKnown()
	l, whole := e.law(), 1-e.Lowest
	for i := range e.Steps {
		if e.Steps[i].Applied >= until {
			break
		}
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
	return law.New(e.policy(), law.Scale{Lowest: e.Lowest, Step: e.CommandStep}).EitherSign()
}

// everyCommandOf looks at all commands of one run.
func (e *Evidence) everyCommandOf(far *[4]farCommand) error {
	c := commands{e: e, l: e.law(), far: far, until: never}
	for i := range e.Steps {
		s := &e.Steps[i]
		if c.envelope == nil || e.Trace.Folds() {
			if err := c.read(s); err != nil {
				return err
			}
		}
		from, to := s.Applied, min(s.To, c.until)
		if from >= to {
			break
		}
		if !e.Trace.Folds() || e.Trace.Kept(from, to) {
			c.look(s, from, to)
		}
	}
	return nil
}

// commands are those of one run being looked at.
type commands struct {
	e        *Evidence
	l        *law.Law
	horizon  signal.Time
	envelope *law.Envelope // of what went out just before
	older    *law.Envelope // of what went out some time before that too
	history  *law.History
	lapses   []lapse
	until    signal.Time // up to when the policy says anything of what is wrong with the wires
	far      *[4]farCommand
}

// read reads what was played for a step and, where the trace has all of it, for the others.
func (c *commands) read(s *Step) error {
	h := c.e.history(s)
	c.history = &h
	for _, series := range [...]*law.Series{&h.Steer, &h.Throttle, &h.Gain, &h.YawRate, &h.Speed} {
		if series.Len() == 0 {
			return s.undecided("the trace does not hold what was played, so that nothing can be declared for it")
		}
	}
	return c.take(&h)
}

// take takes what was played, and works out what the policy makes of it.
func (c *commands) take(h *law.History) error {
	h.Curve = c.e.Curve
	if !c.e.curveKnown() && c.e.unshiftedKnown() {
		curve, err := c.e.standingCurve()
		if err != nil {
			return err
		}
		h.Curve = curve
	}
	c.horizon = c.e.looksBack(c.l, h)
	c.envelope, c.older = c.l.Envelope(h, c.horizon), c.l.Envelope(h, c.horizon+answered)
	c.lapses, c.until = c.e.lapses(c.horizon)
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
		for s.PowerUp && len(frames[w]) > 0 && frames[w][0].Start < s.Applied {
			frames[w] = frames[w][1:] // the power-up cut it short
		}
	}
	times := cuts(c.lapses, from, to)
	for k := range len(times) - 1 {
		m := at(c.lapses, times[k])
		c.lookUpTo(s, times[k+1], &frames, &m)
	}
}

// lookUpTo looks at those of the commands left that ended before a time, up to which m holds.
func (c *commands) lookUpTo(s *Step, to signal.Time, frames *[4][]trace.Frame, m *meanwhile) {
	for {
		first := to
		for _, f := range frames {
			if len(f) > 0 {
				first = min(first, f[0].End)
			}
		}
		if first >= to {
			return
		}
		last := min(first+burst, to-1)
		limits, ok := c.limits(first, last, m)
		if _, late := c.e.lateIn(first-c.horizon, last); late {
			ok = false
		}
		for w := range frames {
			for len(frames[w]) > 0 && frames[w][0].End <= last {
				if ok {
					c.far[w].hold(c, s, &frames[w][0], first, limits[w], m)
				}
				frames[w] = frames[w][1:]
			}
		}
	}
}

// limits returns what the motors may be commanded in commands that ended in from..to; ok is false where it is not
// known what went out.
func (c *commands) limits(from, to signal.Time, m *meanwhile) (limits [4]Limit, ok bool) {
	envelope := c.envelope
	if m.back {
		envelope = c.older
	}
	if m.since == "" {
		a, ok := envelope.Within(from, to)
		return a.Commands, ok
	}
	in, ok := envelope.Inputs(from, to)
	if !ok {
		return limits, false
	}
	m.inputs(&in)
	a := c.l.Of(&in)
	cut := a.Unshifted
	if m.cutOpen {
		in.Steer.Include(0)
		a := c.l.At(&in)
		cut = a.Unshifted
	}
	may := c.l.MayCut(&in)
	for _, w := range plant.Wheels {
		limits[w] = m.allowed(c.e, w, &a, a.Unshifted[w], cut[w], may[w])
	}
	return limits, true
}

// pastOf returns by how much a command lies outside of what the law says of it, give or take the shift
// that counts as none; below 0 by how much inside.
func (e *Evidence) pastOf(f *trace.Frame, allowed Limit) (past float64, limit Limit) {
	t := e.deadShift()
	limit = between(allowed.Low-t, allowed.High+t)
	return max(limit.Low-f.Value, f.Value-limit.High), limit
}
