package assertions

import (
	"fmt"
	"math"

	"hilrig/assertions/measure"
	"hilrig/rig/signal"
)

const (
	// fewestTrials is how many trials a response is judged from.
	fewestTrials = 200
	// uneven is how unlikely phases that were drawn evenly may be spread as they are.
	uneven = 1e-4
	// leaveFrames is how many frames have to stand away from the baseline.
	leaveFrames = 2
	// beforeFrames is how many frames before the stimulus make the baseline.
	beforeFrames = 5
)

// ResponseTimes is what a step of trials tells about the board's response.
type ResponseTimes struct {
	Times []float64 // s, in the order of the trials: from the change on its wire to the end of the first motor frame that answers; +Inf: none did
	// Parts are what the times are made of, before the output's own frames; valid
	// where Separated.
	Parts     measure.Parts
	Separated bool
	LeftOut   int         // trials that were not used, for the rig was late or the sampler may have missed the answer
	slowest   signal.Time // when the slowest trial's change took effect
}

// MeasureResponse times the answers to a step of trials. Where why is not
// empty, it says what is wrong with them and what to do about it, and the times
// may not be taken for the board's.
func MeasureResponse(e *Evidence, s *Step) (r ResponseTimes, why string) {
	if n := len(s.Changes); n < fewestTrials || e.Trace == nil {
		return r, fmt.Sprintf("%d trials in this step; the response is judged from %d or more: raise trials' count", n, fewestTrials)
	}
	motors := e.respondingMotors(s)
	trials, left := e.trials(s, motors)
	if r.LeftOut = left; len(trials) < fewestTrials && left > 0 {
		return r, fmt.Sprintf("%d of %d trials are of use, for in %d the rig played its own wires late or did not see the board's; the response is judged from %d or more: play it on a machine that keeps time, or raise trials' count",
			len(trials), len(s.Changes), left, fewestTrials)
	}
	if len(trials) < fewestTrials {
		return r, fmt.Sprintf("only %d of %d changes of %s were seen on its wire; lengthen the trials' interval", len(trials), len(s.Changes), s.Changed)
	}
	var before, after []float64
	longest := -1.0
	for _, t := range trials {
		r.Times = append(r.Times, t.took)
		if t.took > longest {
			longest, r.slowest = t.took, t.sent
		}
		if !math.IsInf(t.took, 1) {
			before, after = append(before, t.before), append(after, t.after)
		}
	}
	r.Parts, r.Separated = measure.SeparateResponse(before, after)
	if w, ok := e.movesUnprompted(motors, trials); ok {
		return r, fmt.Sprintf("%s moves by more than %s within %d frames before most changes of %s, so that no movement is an answer; hold what else moves it", line(w), share(2*e.deadShift()), beforeFrames, s.Changed)
	}
	return r, e.unevenPhases(s, motors, trials)
}

// response asks how long the board takes from a change on the wire to the
// end of the first motor frame that answers it.
func (b *branch) response() []ask { return []ask{asking("response", (*branch).responds)} }

// responds judges that by the quantile that the policy declares.
func (b *branch) responds() Result {
	e, s := b.e, b.s
	const name = "response"
	p := e.policy().Response
	measured, why := MeasureResponse(e, s)
	stop := func(v Verdict, why string) Result {
		return Result{Name: name, Verdict: v, Why: why, At: s.From, Step: s.Name, LeftOut: measured.LeftOut, screened: true}
	}
	if why != "" {
		return stop(Undecided, why)
	}
	found := measure.ResponseQuantile(measured.Times, p.Quantile)
	limit := AtMost(p.AtMost.Seconds() * 1000)
	open := math.IsInf(found.Within.High, 1)
	switch {
	case found.Unanswered == found.Trials:
		return stop(Fail, fmt.Sprintf("none of %d changes of %s moved a motor by %s", found.Trials, s.Changed, share(e.deadShift())))
	case open && found.Within.Low*1000 > limit.High:
		why := fmt.Sprintf("%d of %d changes of %s moved no motor by %s before the next; %s have to be answered within %s ms",
			found.Unanswered, found.Trials, s.Changed, share(e.deadShift()), share(p.Quantile), number(limit.High))
		return stop(Fail, why)
	case open || math.IsInf(found.Within.Low, -1):
		return stop(Undecided, fmt.Sprintf("%d trials, of which %d brought no answer, are too few for the quantile of %s; raise trials' count",
			found.Trials, found.Unanswered, share(p.Quantile)))
	}
	r := judged(Result{Name: name, Step: s.Name, At: measured.slowest}, Measurement{
		Quantity: fmt.Sprintf("response, %s of %d trials", share(p.Quantile), found.Trials), Unit: "ms", Limit: limit,
		Estimate: found.Quantile * 1000, Low: found.Within.Low * 1000, High: found.Within.High * 1000,
	})
	r.LeftOut, r.screened = measured.LeftOut, true
	m, ok := r.Measurement()
	switch {
	case !ok:
	case r.Verdict == Fail:
		r.Why = fmt.Sprintf("%s of the changes of %s are answered within %s ms, from the change on its wire to the end of the first motor frame that moved by %s; %s ms are allowed",
			share(p.Quantile), s.Changed, number(m.Estimate), share(e.deadShift()), number(limit.High))
		if measured.Separated {
			r.Why += fmt.Sprintf(". Of that, %s ms pass in any case before a motor frame can carry the change, and up to %s ms until the loop's next turn",
				number(measured.Parts.Delay*1000), number(measured.Parts.Loop*1000))
		}
	case r.Verdict == Undecided:
		r.Why = fmt.Sprintf("too near the limit: %d trials put the quantile within %s to %s ms; raise trials' count", found.Trials, number(m.Low), number(m.High))
	}
	return r
}
