package assertions

import (
	"fmt"
	"math"

	"hilrig/plant"
	"hilrig/rig/signal"
	"hilrig/rig/trace"
)

// judge returns one result for each motor: that of its worst frame.
func (c InRange) judge(e *Evidence) []Result {
	s, err := e.step(c.Step)
	if err == nil && len(c.Motors) == 0 {
		err = noMotor(s)
	}
	if err != nil {
		return []Result{unjudged("motors in range", err)}
	}
	results := make([]Result, 0, len(c.Motors))
	for _, corner := range c.Motors {
		name := fmt.Sprintf("%s within %s to %s", corner, share(c.Low), share(c.High))
		w, err := e.wheel(corner, s)
		if err != nil {
			results = append(results, unjudged(name, err))
			continue
		}
		results = append(results, e.keeps(name, corner, w, Limit{c.Low, c.High}, s))
	}
	return results
}

// keeps judges whether every frame of a motor in the step's window keeps
// limit, by the frame that does so least. A command that stands exactly at its
// limit keeps it, so the limit is widened by what the sampler and the format
// cannot tell apart: twice the frame's uncertainty and one command step. Pulses too
// long or too short to be commands break the limit on their side.
func (e *Evidence) keeps(name string, corner Corner, w plant.Wheel, limit Limit, s *Step) Result {
	if r, ok := e.outOfRange(name, corner, w, limit, s); ok {
		return r
	}
	frames := e.frames(w, s)
	if len(frames) == 0 {
		return unjudged(name, e.silent(w, s))
	}
	worst, excess := frames[0], math.Inf(-1)
	for _, f := range frames {
		x := max(limit.Low-f.Value, f.Value-limit.High)
		if math.IsNaN(x) || math.IsNaN(f.Uncertainty) {
			worst = f
			break
		}
		if x > excess {
			worst, excess = f, x
		}
	}
	slack := float64(2*worst.Uncertainty) + e.CommandStep
	wide := Limit{limit.Low - slack, limit.High + slack}
	r := judged(Result{Name: name, Step: s.Name, At: worst.End}, Measurement{
		Quantity: "farthest command of " + called(corner, w), Unit: "%",
		Estimate: worst.Value * percent, Low: (worst.Value - worst.Uncertainty) * percent, High: (worst.Value + worst.Uncertainty) * percent,
		Limit: Limit{wide.Low * percent, wide.High * percent},
	})
	switch {
	case !r.Measured():
	case r.Verdict == Fail && worst.Value > limit.High:
		r.Why = fmt.Sprintf("%s commanded %s at %v, above %s%s", called(corner, w), share(worst.Value), worst.End, share(limit.High), countOutside(frames, wide))
	case r.Verdict == Fail:
		r.Why = fmt.Sprintf("%s commanded %s at %v, below %s%s", called(corner, w), share(worst.Value), worst.End, share(limit.Low), countOutside(frames, wide))
	case r.Verdict == Undecided:
		r.Why = fmt.Sprintf("the command at %v is known to ±%s only and stands that near to its limit; sample faster, or leave more room", worst.End, share(worst.Uncertainty))
	}
	return r
}

// outOfRange returns a failure where the motor line carried a pulse in the window
// that is past the format on a side that limit bounds.
func (e *Evidence) outOfRange(name string, corner Corner, w plant.Wheel, limit Limit, s *Step) (Result, bool) {
	if e.Trace == nil {
		return Result{}, false
	}
	for _, event := range e.Trace.Motor[w].EventsBetween(s.From, s.To) {
		over := event.Kind == trace.Overlong && !math.IsInf(limit.High, 1)
		under := event.Kind == trace.Short && !math.IsInf(limit.Low, -1)
		if over || under {
			return unjudged(name, outOfRangeAt(called(corner, w), event.Kind, event.At, s)), true
		}
	}
	return Result{}, false
}

func outOfRangeAt(motor string, kind trace.EventKind, at signal.Time, s *Step) error {
	return s.blockedAt(Fail, at, "%s sent a pulse at %v that is %s for the format: no speed controller can be told what it will make of it; look for a wrap in the board's arithmetic", motor, at, kind)
}

// countOutside says how many frames broke the limit, for a single one is more likely
// a wrap than a setting.
func countOutside(frames []trace.Frame, limit Limit) string {
	n := 0
	for _, f := range frames {
		if f.Value-f.Uncertainty > limit.High || f.Value+f.Uncertainty < limit.Low {
			n++
		}
	}
	return fmt.Sprintf(" (%d of %d commands)", n, len(frames))
}
