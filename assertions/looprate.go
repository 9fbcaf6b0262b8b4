package assertions

import (
	"fmt"
	"math"
	"slices"
	"strings"

	"hilrig/assertions/measure"
	"hilrig/plant"
	"hilrig/rig/signal"
	"hilrig/rig/trace"
)

// followsShare is how much of a motor's movement the input has to explain for the
// loop to be looked for in it.
const followsShare = 0.7

// inputLead is how long before a step what was played may have been read by the
// board whose frames end in the step.
const inputLead = signal.Second / 5

// LoopFound is how often the board reads its inputs.
type LoopFound struct {
	measure.Updates
	Motor   plant.Wheel // by whose frames
	LeftOut int         // of its frames that were not used, for the rig was late
}

// StandsStill says, of a loop that is Locked, which others would look the same.
func (f *LoopFound) StandsStill() string {
	return fmt.Sprintf("the motor frames stand still against the loop, as where one clock gives both: it runs at %.4g Hz or at a multiple of it, %.4g Hz, %.4g Hz and so on, which all look the same",
		1/f.Period, 2/f.Period, 3/f.Period)
}

// MeasureLoop finds how often the board reads its inputs, from how old the speed
// is that each motor frame carries. The step has to move the speed all the
// time; see [measure.UpdatePeriod]. Where why is not empty, it says why nothing
// was found and what to do about it.
func MeasureLoop(e *Evidence, s *Step) (found LoopFound, why string) {
	if e.LoopFound != nil {
		return *e.LoopFound, ""
	}
	asked := loopAsked{e.Trace, e.LoopPeriod, s.From, s.To}
	if !e.loop.known || e.loop.asked != asked {
		found, why = e.measureLoop(s)
		e.loop = loopAnswer{asked, true, found, why}
	}
	return e.loop.found, e.loop.why
}

// loopAsked is what MeasureLoop was asked.
type loopAsked struct {
	trace    *trace.Trace
	likely   *measure.Interval
	from, to signal.Time
}

// loopAnswer is what it gave.
type loopAnswer struct {
	asked loopAsked
	known bool
	found LoopFound
	why   string
}

// measureLoop is MeasureLoop without memory.
func (e *Evidence) measureLoop(s *Step) (found LoopFound, why string) {
	likely := measure.Interval{Low: 0, High: math.Inf(1)}
	if e.LoopPeriod != nil {
		likely = *e.LoopPeriod
	}
	in, ok := e.excitation(trace.Speed, s)
	if !ok {
		return found, "the speed stands still in this step; let it follow a chirp, so that each command tells when its speed was read"
	}
	w, explained := e.bestFollower(in, s)
	kept, left := e.answers(w, s)
	found.LeftOut = left
	if explained < followsShare {
		if left > len(kept) {
			return found, fmt.Sprintf("%d of %d commands of %s are left out, for the rig played its own wires late, and no motor follows the speed in the others; play it on a machine that keeps time",
				left, left+len(kept), line(w))
		}
		if open := e.openIn(w, s); open > len(kept)+left {
			return found, fmt.Sprintf("the sampler left open %d of %d commands of %s; play it on a machine that keeps time", open, open+len(kept)+left, line(w))
		}
		if e.allSilent(s) {
			return found, e.silent(w, s).Error()
		}
		return found, "no motor follows the speed; hold steer and yaw rate so that the demand goes with the speed, and open the gain"
	}
	u, err := measure.UpdatePeriodWithin(in, kept, e.CommandStep, likely)
	if err != nil {
		return found, line(w) + ": " + err.Error()
	}
	return LoopFound{u, w, left}, ""
}

// loopRate asks how often the board reads its inputs: of trials of the throttle by their answers, else by a speed that moves.
func (b *branch) loopRate() []ask {
	if b.s.Changed == trace.Throttle && !b.s.Swept {
		return b.loopRateByThrottle()
	}
	if why := b.swingUnmoved(); why != "" {
		return b.notAsked(why)
	}
	return []ask{asking(loopRateName, (*branch).loops)}
}

// loops judges how often the board reads its inputs: by the speed, which moves all the time, and where that does not
// show enough, by the answers to the trials of the same case. Inputs may be read more seldom than the loop turns.
func (b *branch) loops() Result {
	r, t := b.loopBySpeed(), b.e.byAnswers()
	if r.Verdict == Pass && b.e.LoopPeriod == nil && t.likely.High < measure.ShortestPeriod {
		b.e.LoopPeriod = &t.likely // answers wait for nothing but the frames, which then tell at least as much
		r = b.loopBySpeed()
	}
	if r.Verdict == Pass {
		return r
	}
	if all := b.whichever(&t); all.Verdict == Pass {
		return all
	}
	if !t.ok {
		if least := b.soonEnough(&t); least.Verdict == Pass {
			return least
		}
		return b.sooner(r, t.likely)
	}
	answers := b.loopByAnswers(&t.found)
	if _, ok := answers.Measurement(); !ok {
		return r
	}
	return answers
}

// whichever judges the loop rate where several explain the frames, by all of them: a loop is quick enough where each is. Where the
// answers to trials wait for longer turns than any of them has, the speed tells another thing than the loop. What is no pass tells
// nothing.
func (b *branch) whichever(t *told) Result {
	u, why := MeasureLoop(b.e, b.s)
	if why != "" || len(u.Aliases) == 0 {
		return Result{Verdict: Undecided}
	}
	u.Within = u.Whichever()
	if u.Within.High < t.likely.Low {
		return Result{Verdict: Undecided}
	}
	return b.judgedLoop(&u, "loop rate, by ")
}

// loopByAnswers judges the loop rate by the turns in which answers to trials come.
func (b *branch) loopByAnswers(u *LoopFound) Result {
	r := b.judgedLoop(u, "loop rate, by answers of ")
	m, ok := r.Measurement()
	switch {
	case !ok:
	case r.Verdict == Fail:
		r.Why = fmt.Sprintf("the board answers in turns that come %.4g times a second, every %.4g ms; %.4g Hz are asked for", m.Estimate, u.Period*1000, m.Limit.Low)
	case r.Verdict == Undecided:
		r.Why = b.e.tooNear(&m)
	}
	return r
}

// sooner returns r undecided where it is a fail by a loop that may turn in a shorter time than the speed is read in: as a motor
// at its limit bends what follows the speed, as the spread of the answers has it, or as commands change on their way.
func (b *branch) sooner(r Result, likely measure.Interval) Result {
	m, ok := r.Measurement()
	if !ok || r.Verdict != Fail {
		return r
	}
	if w, comes := b.comesToALimit(); comes {
		r.Verdict = Undecided
		r.Why = fmt.Sprintf("what looks like %.4g turns a second need not be those of the loop, for %s comes to its cap, its floor or an end of its range in this step, where commands follow the speed by another line; "+
			"choose a throttle that leaves room for the shift", m.Estimate, line(w))
		return r
	}
	why := ""
	switch {
	case 1/m.High > likely.High:
		why = fmt.Sprintf("its answers wait %.3g ms at most for a turn of its loop", likely.High*1000)
	case b.e.movesBetween(1 / m.High):
		why = "its commands change in between, on their way to another"
	default:
		return r
	}
	r.Verdict = Undecided
	r.Why = fmt.Sprintf("the board reads the speed %.4g times a second, but %s: it counts the wheels' marks over longer than a turn; "+
		"hilrig rate may tell the turns by more answers, else ask for no more than the rate at which the speed is read", m.Estimate, why)
	return r
}

// comesToALimit returns a motor that by the policy may come to its cap, its floor or an end of the range in the step, by what went out.
func (b *branch) comesToALimit() (w plant.Wheel, comes bool) {
	d := b.declaredFrom(b.s, b.standing(), b.e.asPlayed())
	i := slices.Index(d.perhaps[:], true)
	return plant.Wheel(max(i, 0)), i >= 0
}

// loopBySpeed judges the loop rate by the speed that the motors' frames carry.
func (b *branch) loopBySpeed() Result {
	e, s := b.e, b.s
	u, why := MeasureLoop(e, s)
	if why != "" {
		return Result{Name: loopRateName, Verdict: Undecided, Why: why, At: s.From, Step: s.Name, LeftOut: u.LeftOut, screened: true}
	}
	quantity := "loop rate, by "
	switch {
	case u.Locked:
		quantity = "loop rate or a fraction of it, by "
	case u.Unresolved:
		quantity = "loop rate at least, by "
	}
	r := b.judgedLoop(&u, quantity)
	m, ok := r.Measurement()
	switch {
	case !ok:
	case len(u.Aliases) > 0:
		r.Verdict, r.Why = Undecided, "the frames are explained as well by "+rates(u.Updates)+"; "+e.longer()+", or make the motor's command step finer"
	case u.Locked && r.Verdict != Pass: // a multiple of a rate that is enough is enough
		r.Verdict = Undecided
		r.Why = u.StandsStill() + "; hilrig rate may settle it by the response"
	case u.Unresolved && r.Verdict != Pass:
		r.Verdict = Undecided
		r.Why = fmt.Sprintf("these frames do not show the loop's turns; that they bring new values shows %s Hz at least: make the motor's command step finer, or let the speed swing further; hilrig rate may settle it by the response", number(m.Estimate))
	case r.Verdict == Fail:
		r.Why = fmt.Sprintf("the board reads its inputs %.4g times a second, every %.4g ms; %.4g Hz are asked for", m.Estimate, u.Period*1000, m.Limit.Low)
	case r.Verdict == Undecided:
		r.Why = e.tooNear(&m)
	}
	return r
}

const loopRateName = "loop rate"

// judgedLoop holds a loop's rate against the policy.
func (b *branch) judgedLoop(u *LoopFound, quantity string) Result {
	r := judged(Result{Name: loopRateName, Step: b.s.Name, At: b.s.From}, Measurement{
		Quantity: quantity + line(u.Motor), Unit: "Hz",
		Estimate: 1 / u.Period, Low: 1 / u.Within.High, High: 1 / u.Within.Low, Limit: AtLeast(*b.e.policy().LoopRate),
	})
	r.LeftOut, r.screened = u.LeftOut, true
	return r
}

func (e *Evidence) tooNear(m *Measurement) string {
	remedy := "observe longer"
	if e.Given {
		remedy = fmt.Sprintf("hilrig rate measures it by more answers, else declare a loop_rate below %.5g Hz", m.Low)
	}
	return fmt.Sprintf("too near the limit: the rate lies within %.5g to %.5g Hz; %s", m.Low, m.High, remedy)
}

// rates names the periods that explain the frames.
func rates(u measure.Updates) string {
	words := []string{fmt.Sprintf("%.4g Hz", 1/u.Period)}
	for _, p := range u.Aliases {
		words = append(words, fmt.Sprintf("%.4g Hz (1 to %.2g)", 1/p.Period, p.Odds))
	}
	return strings.Join(words, " and ")
}

// allSilent says whether no command of any motor was read in the step's window.
func (e *Evidence) allSilent(s *Step) bool {
	return !slices.ContainsFunc(plant.Wheels[:], func(w plant.Wheel) bool { return len(e.allFrames(w, s)) > 0 })
}

// excitation returns what was played of a channel in the step and shortly before; ok
// is false where it did not move.
func (e *Evidence) excitation(c trace.Channel, s *Step) (in measure.Excitation, ok bool) {
	t := e.Trace
	if t == nil || t.Tick <= 0 {
		return in, false
	}
	row := func(at signal.Time) int {
		return int(min(max((at-t.Start)/t.Tick, 0), signal.Time(t.Length(c))))
	}
	from, to := row(s.From-inputLead), row(s.To)
	column := t.Values(c, min(from, to), to)
	for _, y := range t.SentBetween(trace.SentYawRate, s.From-2*inputLead, s.To) {
		if c == trace.Speed && !y.Bad && y.End >= s.From-inputLead && y.End <= s.To {
			in.Beside = append(in.Beside, measure.Known{At: (y.End - t.Start).Seconds(), Value: y.Value})
		}
	}
	// A value is held for its tick: the straight line goes through the ticks' middles.
	first := signal.Time(from)*t.Tick + t.Tick/2
	in.Start, in.Step, in.Values, in.Staircase = first.Seconds(), t.Tick.Seconds(), column, true
	return in, measure.RangeOf(column...).Width() > 0
}

// answers returns a motor's frames in the step, times counted from the trace's start,
// and how many it leaves out, which may carry what the rig played late.
func (e *Evidence) answers(w plant.Wheel, s *Step) (answers []measure.Answer, left int) {
	frames := e.allFrames(w, s)
	answers = make([]measure.Answer, 0, len(frames))
	for _, f := range frames {
		if _, late := e.lateIn(f.Start-lateEffect, f.Start); late {
			left++
			continue
		}
		answers = append(answers, measure.Answer{At: (f.Start - e.Trace.Start).Seconds(), Value: f.Value, Uncertainty: f.Uncertainty})
	}
	return answers, left
}

// bestFollower returns the motor whose commands the input explains best, and the
// share of their movement that it explains.
func (e *Evidence) bestFollower(in measure.Excitation, s *Step) (best plant.Wheel, share float64) {
	for _, w := range plant.Wheels {
		answers, _ := e.answers(w, s)
		if x := measure.Explained(in, answers, e.CommandStep); x > share {
			best, share = w, x
		}
	}
	return best, share
}
