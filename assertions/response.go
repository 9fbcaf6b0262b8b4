package assertions

import (
	"fmt"
	"math"
	"slices"

	"hilrig/assertions/measure"
	"hilrig/plant"
	"hilrig/rig/signal"
	"hilrig/rig/trace"
)

const (
	// fewestTrials is how many trials a response is judged from.
	fewestTrials = 200
	// uneven is how unlikely phases that were drawn evenly may be spread as they are.
	uneven = 1e-6
	// leaveFrames is how many frames have to stand away from the baseline.
	leaveFrames = 2
	// beforeFrames is how many frames before the stimulus make the baseline.
	beforeFrames = 5
)

// ResponseFound is what a step of trials tells about the board's response.
type ResponseFound struct {
	Motors  []MotorResponse // those that the changes move, in the order of plant.Wheels
	Changes int             // that came to their wire
	LeftOut int             // of them, for the motor of which most were
	// Still are motors that a shift moves by the policy, and that these changes do not move.
	Still []plant.Wheel
	// NotEnded says that a change came before the answer to the one before had ended.
	NotEnded bool
}

// MotorResponse is how long one motor takes to answer.
//
// An answer ends with the end of the first frame that leaves, towards where the change takes
// the motor, the mean of the last five before it by the dead shift, and stays for two frames.
// Where frames at rest stray by more than that, it is what they stray by that has to be left.
type MotorResponse struct {
	Motor   plant.Wheel
	Times   []float64 // s, in the order of the trials: from the change on its wire to the end of the first frame that answers; +Inf: none did
	LeftOut int       // trials that were not used, for the rig was late or the sampler may have missed the answer

	sent          []float64   // s of the bench's time, of each answer: when the change took effect
	ways          []int       // of each answer: 0 where the change went to the first level, 1 to the second
	before, after []float64   // s, of each answer: from the change to the beginning of the frame before it, and of its own
	lengths       []float64   // s, of each answering frame
	sooner, later []float64   // as Times, were the motor seen to move by one command step less, and more
	early         float64     // s: by how much the times may be too long besides, for frames at rest stray
	slowest       signal.Time // when the slowest trial's change took effect
}

// Quantile returns the quantile p of the motor's times, with the interval that holds it: by
// order statistics, and by what a step of the command is to when the motor is seen to leave.
func (m *MotorResponse) Quantile(p float64) measure.Responses {
	r := measure.ResponseQuantile(m.Times, p)
	r.Within.Low = min(r.Within.Low, measure.ResponseQuantile(m.sooner, p).Within.Low) - m.early
	r.Within.High = max(r.Within.High, measure.ResponseQuantile(m.later, p).Within.High)
	return r
}

// answered returns the times of the trials that were answered, ms, in their order.
func (m *MotorResponse) answered() (ms []float64) {
	for _, x := range m.Times {
		if finite(x) {
			ms = append(ms, x*1000)
		}
	}
	return ms
}

// Parts takes the times apart into what passes before the output's own frames; ok is false
// where they do not hang together.
func (m *MotorResponse) Parts() (p measure.Parts, ok bool) {
	return measure.SeparateResponse(m.before, m.after)
}

// FrameLength returns the median length of the frames that answered, s; 0 where none did.
func (m *MotorResponse) FrameLength() float64 {
	if len(m.lengths) == 0 {
		return 0
	}
	return median(slices.Clone(m.lengths))
}

// MeasureResponse times the answers of each motor to a step of trials. Where why is not
// empty, it says what is wrong with them and what to do about it, and the times
// may not count as the board's.
func MeasureResponse(e *Evidence, s *Step) (r ResponseFound, why string) {
	if n := len(s.Changes); n < fewestTrials || e.Trace == nil {
		return r, fmt.Sprintf("%d trials in this step; the response is judged from %d or more: raise trials' count", n, fewestTrials)
	}
	all := e.changes(s)
	r.Changes = len(all)
	responding, restless := e.respondingMotors(s, all, &r)
	for i := range responding {
		m := &responding[i]
		r.Motors = append(r.Motors, e.answered(m.wheel, all, &m.moves))
		r.LeftOut = max(r.LeftOut, r.Motors[i].LeftOut)
		r.NotEnded = r.NotEnded || !e.ended(m.wheel, all, &m.moves)
	}
	if len(responding) == 0 {
		for i := range all {
			if e.Late(all[i].asked, all[i].until, all[i].uncertainty) {
				r.LeftOut++
			}
		}
	}
	switch kept := len(all) - r.LeftOut; {
	case kept < fewestTrials && r.LeftOut > 0:
		return r, fmt.Sprintf("%d of %d trials are of use, for in %d the rig played its own wires late or did not see the board's; the response is judged from %d or more: play it on a machine that keeps time, or raise trials' count",
			kept, len(s.Changes), r.LeftOut, fewestTrials)
	case kept < fewestTrials:
		return r, fmt.Sprintf("only %d of %d changes of %s were seen on its wire; lengthen the trials' interval", len(all), len(s.Changes), s.Changed)
	case len(restless) > 0 && e.crowded(restless[0], all):
		r.NotEnded = true
		return r, fmt.Sprintf("the commands of %s come so seldom that it cannot be told how it stands between two changes of %s; lengthen the trials' interval", line(restless[0]), s.Changed)
	case len(restless) > 0:
		return r, fmt.Sprintf("%s moves as far by itself as with the changes of %s, so that no movement is an answer; hold what else moves it", line(restless[0]), s.Changed)
	case r.NotEnded:
		return r, fmt.Sprintf("a motor was still on its way when %s changed again, so that its answers run into each other; lengthen the trials' interval", s.Changed)
	}
	if s.Aimed || s.OnRequest {
		return r, ""
	}
	motors := e.policyMotors(s)
	if len(responding) > 0 {
		motors = nil
		for _, m := range responding {
			motors = append(motors, m.wheel)
		}
	}
	return r, e.unevenPhases(s, motors, all)
}

// respondingMotor is a motor that the changes of a step of trials move.
type respondingMotor struct {
	wheel plant.Wheel
	moves
}

// respondingMotors returns the motors that the changes move: those that plainly do and, where there
// are none, those that do at all. restless are motors whose answers cannot be told from what
// they do at rest.
func (e *Evidence) respondingMotors(s *Step, all []change, r *ResponseFound) (responding []respondingMotor, restless []plant.Wheel) {
	var faint []respondingMotor
	asked, shifted := e.policyMotors(s), e.shifted(s)
	for _, w := range plant.Wheels {
		m, ok := e.movedBy(w, all)
		switch {
		case ok && m.plain(m.dead):
			responding = append(responding, respondingMotor{w, m})
			continue
		case ok && m.restless() && (m.way() > plainly*m.dead || slices.Contains(asked, w)):
			restless = append(restless, w)
		case ok && m.moving():
			faint = append(faint, respondingMotor{w, m})
		}
		if slices.Contains(shifted, w) {
			r.Still = append(r.Still, w)
		}
	}
	if len(responding) == 0 && len(restless) == 0 {
		responding = faint
	}
	return responding, restless
}

// shifted returns the motors that the policy's shift moves when the yaw rate goes to the
// second level; none where another value changes or the first is not on demand.
func (e *Evidence) shifted(s *Step) (motors []plant.Wheel) {
	if s.Changed != trace.YawRate || s.Levels[0] != s.Demand {
		return nil
	}
	split := e.policy().Understeer
	if SituationOf(s.Demand, s.Levels[1]) != understeering {
		split = e.policy().Oversteer
	}
	for _, m := range moving(split) {
		if w, ok := m.corner.Wheel(s.Turn(e.policy())); ok {
			motors = append(motors, w)
		}
	}
	return motors
}

// response asks how long each motor that the changes move takes from a change on the wire
// to the end of the first frame that answers it. A motor that they do not move is for the
// branches to judge.
func (b *branch) response() []ask {
	if why := b.unmoved(b.s.Changed, b.s.Levels[0], b.s.Levels[1]); why != "" {
		return b.notAsked(why)
	}
	return []ask{asking("response", (*branch).responds)}
}

// responds judges that by the quantile that the policy declares, of the motor that does worst.
func (b *branch) responds() Result {
	e, s := b.e, b.s
	const name = "response"
	found, why := MeasureResponse(e, s)
	blank := Result{Name: name, At: s.From, Step: s.Name, LeftOut: found.LeftOut, screened: true}
	worst := blank
	switch {
	case why != "":
		worst.Verdict, worst.Why, worst.RanTogether = Undecided, why, found.NotEnded
	case len(found.Motors) == 0:
		worst.Verdict, worst.Why = Fail, fmt.Sprintf("none of %d changes of %s moved a motor by %s", found.Changes, s.Changed, share(e.deadShift()))
	}
	for i := range found.Motors {
		if why != "" {
			break
		}
		if r := b.motorResponse(blank, &found.Motors[i]); i == 0 || r.worse(&worst) {
			worst = r
		}
	}
	return worst
}

// motorResponse returns r with the verdict on one motor's response.
func (b *branch) motorResponse(r Result, m *MotorResponse) Result {
	e, s, limits := b.e, b.s, b.p.Response
	found, limit, w := m.Quantile(limits.Quantile), AtMost(limits.AtMost.Seconds()*1000), line(m.Motor)
	open := math.IsInf(found.Within.High, 1)
	switch {
	case open && found.Within.Low*1000 > limit.High:
		r.Verdict, r.Why = Fail, fmt.Sprintf("%d of %d changes of %s did not move %s by %s before the next; %s have to be answered within %s ms",
			found.Unanswered, found.Trials, s.Changed, w, share(e.deadShift()), share(limits.Quantile), number(limit.High))
		return r
	case open || math.IsInf(found.Within.Low, -1):
		r.Verdict, r.Why = Undecided, fmt.Sprintf("%d trials, of which %d brought no answer of %s, are too few for the quantile of %s; raise trials' count",
			found.Trials, found.Unanswered, w, share(limits.Quantile))
		return r
	}
	r.At = m.slowest
	r = judged(r, Measurement{
		Quantity: fmt.Sprintf("response of %s, %s of %d trials", m.Motor, share(limits.Quantile), found.Trials), Unit: "ms", Limit: limit,
		Estimate: found.Quantile * 1000, Low: found.Within.Low * 1000, High: found.Within.High * 1000,
	})
	r.LeftOut, r.screened = m.LeftOut, true
	r.Samples = m.answered()
	x, ok := r.Measurement()
	switch {
	case !ok:
	case r.Verdict == Fail:
		r.Why = fmt.Sprintf("%s answers %s of the changes of %s within %s ms, from the change on its wire to the end of the first frame that moved by %s; %s ms are allowed",
			w, share(limits.Quantile), s.Changed, number(x.Estimate), share(e.deadShift()), number(limit.High))
		if p, ok := m.Parts(); ok {
			r.Why += fmt.Sprintf(". Of that, %s ms pass in any case before a motor frame can carry the change, and up to %s ms until the loop's next turn",
				number(p.Delay*1000), number(p.Loop*1000))
		}
	case r.Verdict == Undecided:
		r.Why = fmt.Sprintf("too near the limit: %d trials put the quantile of %s within %s to %s ms; raise trials' count", found.Trials, w, number(x.Low), number(x.High))
	}
	return r
}
