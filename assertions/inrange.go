package assertions

import (
	"fmt"
	"math"

	"hilrig/assertions/law"
	"hilrig/plant"
	"hilrig/rig/trace"
)

// judge returns one result for each motor: that of its worst frame.
func (c InRange) judge(e *Evidence) []Result {
	s, err := e.step(c.Step)
	return eachMotor("motors in range", c.Motors, s, err, func(corner law.Corner) Result {
		return e.keeps(fmt.Sprintf("%s within %s to %s", corner, share(c.Low), share(c.High)), corner, between(c.Low, c.High), s)
	})
}

// keeps judges whether every frame of a motor in the step's window keeps
// limit, by the frame that does so least. A command that stands exactly at its
// limit keeps it, so the limit is widened by what the sampler and the format
// cannot tell apart: twice the frame's uncertainty and one command step. Pulses too
// long or too short to be commands break the limit on their side.
func (e *Evidence) keeps(name string, corner law.Corner, limit Limit, s *Step) Result {
	w, err := e.wheel(corner, s)
	if err == nil {
		err = e.outOfRange(corner, w, limit, s)
	}
	frames := e.frames(w, s)
	if err == nil && len(frames) == 0 {
		err = e.silent(w, s)
	}
	if err != nil {
		return unjudged(name, err)
	}
	worst := farthest(frames, limit, s)
	slack := float64(2*worst.Uncertainty) + e.CommandStep
	wide := between(limit.Low-slack, limit.High+slack)
	r := judged(Result{Name: name, Step: s.Name, At: worst.End}, Measurement{
		Quantity: "farthest command of " + called(corner, w), Unit: "%",
		Estimate: worst.Value * percent, Low: (worst.Value - worst.Uncertainty) * percent, High: (worst.Value + worst.Uncertainty) * percent,
		Limit: between(wide.Low*percent, wide.High*percent),
	})
	side, end := "below", limit.Low
	if worst.Value > limit.High {
		side, end = "above", limit.High
	}
	return r.explained(fmt.Sprintf("%s commanded %s at %v, %s %s%s", called(corner, w), share(worst.Value), worst.End, side, share(end), countOutside(frames, wide)),
		fmt.Sprintf("the command at %v is known to ±%s only and stands that near to its limit; sample faster, or leave more room", worst.End, share(worst.Uncertainty)))
}

// outOfRange reports a pulse on the motor line in the window that is past the format on a
// side that limit bounds.
func (e *Evidence) outOfRange(corner law.Corner, w plant.Wheel, limit Limit, s *Step) error {
	if e.Trace == nil {
		return nil
	}
	for _, event := range e.Trace.Motor[w].EventsBetween(s.From, s.To) {
		over := event.Kind == trace.Overlong && !math.IsInf(limit.High, 1)
		under := event.Kind == trace.Short && !math.IsInf(limit.Low, -1)
		if over || under {
			return s.blockedAt(Fail, event.At, "%s sent a pulse at %v that is %s for the format: no speed controller can be told what it will make of it; look for a wrap in the board's arithmetic", called(corner, w), event.At, event.Kind)
		}
	}
	return nil
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
