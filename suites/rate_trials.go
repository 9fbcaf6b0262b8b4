package suites

import (
	"cmp"
	"slices"

	"hilrig/assertions"
	"hilrig/assertions/measure"
	"hilrig/plant"
	"hilrig/rig/signal"
	"hilrig/rig/trace"
)

// trials are the answers to a step of trials.
type trials struct {
	e       *assertions.Evidence
	channel trace.Channel
	found   assertions.ResponseFound
	why     string // why the times may not be taken for the board's; empty: they may
}

// trialsOf times the answers of each motor to the changes.
func trialsOf(e *assertions.Evidence) *trials {
	s := &e.Steps[0]
	t := &trials{e: e, channel: s.Changed}
	t.found, t.why = assertions.MeasureResponse(e, s)
	return t
}

// still says whether no motor moves.
func (t *trials) still() bool { return len(t.found.Motors) == 0 }

// mostlyLate says whether the rig was late in more trials than not, so that motors that
// do not move tell nothing of the board.
func (t *trials) mostlyLate() bool { return 2*t.found.LeftOut > t.found.Changes }

// begun returns how many frames had begun before t.
func begun(frames []trace.Frame, t signal.Time) int {
	k, _ := slices.BinarySearchFunc(frames, t, func(f trace.Frame, t signal.Time) int { return cmp.Compare(f.Start, t) })
	return k
}

// motorsOf sums the answers of each motor up.
func (t *trials) motorsOf() []MotorResponse {
	var out []MotorResponse
	for i := range t.found.Motors {
		m := &t.found.Motors[i]
		r := MotorResponse{Wheel: m.Motor, Trials: len(m.Times), LeftOut: m.LeftOut}
		for _, share := range quantileShares {
			q := m.Quantile(share)
			r.Unanswered = q.Unanswered
			r.Quantiles = append(r.Quantiles, Quantile{share, q.Quantile, q.Within})
		}
		times := slices.Clone(m.Times)
		slices.Sort(times)
		r.Times = times[:len(times)-r.Unanswered]
		out = append(out, r)
	}
	return out
}

// parts takes a motor's median response apart: what passes in any case before a frame
// can carry the change, the wait for the loop, the wait for a frame with its
// length.
func (t *trials) parts(motor int, r *Rate, median float64) []Part {
	m := &t.found.Motors[motor]
	p, ok := m.Parts()
	if !ok {
		return nil
	}
	loop := p.Loop / 2
	note := "wait for the loop's next turn, by the trials"
	if r.Loop.Why == "" {
		loop, note = 1/(2*r.Loop.Rate), "wait for the loop's next turn, half its period"
	}
	length := m.FrameLength()
	return []Part{
		{"input", p.Delay, "passes in any case: receiving, computing, handing on"},
		{"loop", loop, note},
		{"output", max(median-p.Delay-loop, length), "wait for the next frame, and its length of " + micro(length)},
	}
}

// budget takes the uncertainty of a motor's median response apart.
func (t *trials) budget(motor plant.Wheel, median Quantile, span float64) Budget {
	frames := t.e.Trace.Motor[motor].Frames
	known := []Source{
		{"sampler", timeUncertainty(frames, span), "when the answering frame ended"},
		{"stimulus timing", measure.Resolution(signal.Nanosecond.Seconds()), "when the change took effect on its wire"},
		{"resolution", measure.Resolution(signal.Nanosecond.Seconds()), "the times' last digit"},
	}
	half := (median.Within.High - median.Within.Low) / 2
	b := budget("median response of "+motor.String(), half/2, known, "order statistics of the trials")
	b.Expanded, b.Coverage = 2*b.Combined, "95 %, k = 2"
	return b
}
