package assertions

import (
	"fmt"
	"math"
	"slices"

	"hilrig/assertions/law"
	"hilrig/assertions/measure"
	"hilrig/plant"
	"hilrig/rig/trace"
)

// fewest is how many frames a mean needs: with two, the interval is so wide
// that it says nothing.
const fewest = 3

// silent reports a motor without a frame in the step's window, and tells what came instead
// of commands. That is a failure, whatever was to be checked; undecided, where commands
// came and the rig could not read them.
func (e *Evidence) silent(w plant.Wheel, s *Step) error {
	why := line(w) + " sent no command in the window"
	if s.Baseline {
		why += " of the baseline"
	}
	if e.Trace == nil {
		return s.fails("%s", why)
	}
	if why := e.NotRead(w, s); why != "" {
		return s.undecided("%s; play it on a machine that keeps time", why)
	}
	came := map[trace.EventKind]int{}
	for _, event := range e.Trace.Motor[w].EventsBetween(s.From, s.To) {
		came[event.Kind]++
	}
	if n := came[trace.Stop]; n > 0 {
		why += fmt.Sprintf(", but %d frames that stop the motor; if they stand for 0 %%, add stop_is_idle: yes to the bench's motors", n)
	}
	for _, kind := range []trace.EventKind{trace.Short, trace.Overlong, trace.Corrupt} {
		if n := came[kind]; n > 0 {
			why += fmt.Sprintf(", but %d pulses or frames that are %s for the format that the bench declares", n, kind)
		}
	}
	return s.fails("%s", why)
}

// enough returns a motor's frames in the step's window, where they are as many as it takes.
func (e *Evidence) enough(w plant.Wheel, s *Step) ([]trace.Frame, error) {
	frames := e.frames(w, s)
	if len(frames) < fewest {
		return nil, e.few(w, s, len(frames))
	}
	return frames, nil
}

// rangeOf returns the least and the most of the frames' values; of no frames Low is +Inf and
// High -Inf.
func rangeOf(frames []trace.Frame) Limit { return measure.RangeOf(valuesOf(frames)...) }

// valuesOf returns the frames' values.
func valuesOf(frames []trace.Frame) []float64 {
	values := make([]float64, len(frames))
	for i, f := range frames {
		values[i] = f.Value
	}
	return values
}

// few reports a motor with n frames, fewer than it takes, in the step's window.
func (e *Evidence) few(w plant.Wheel, s *Step, n int) error {
	if n == 0 {
		return e.silent(w, s)
	}
	return s.undecided("%s: %s brought %d commands of %s, and it takes %d", e.longer(), (s.To - s.From).Short(), n, line(w), fewest)
}

// mean estimates a motor's mean command in the step's window.
func (e *Evidence) mean(w plant.Wheel, s *Step) (measure.Estimate, error) {
	frames, err := e.enough(w, s)
	if err != nil {
		return measure.Estimate{}, err
	}
	frames = withoutUncertain(frames)
	uncertainty := 0.0
	for _, f := range frames {
		uncertainty += float64(f.Uncertainty * f.Uncertainty)
	}
	// The sampler's uncertainty may be the same way in every frame, so it is not
	// taken to average out.
	uncertainty = math.Sqrt(uncertainty / float64(len(frames)))
	return measure.MeanOfCoarse(valuesOf(frames), e.CommandStep, e.coarse(), measure.Rectangular(uncertainty)), nil
}

// shift estimates how far a motor's mean command moved from the baseline.
func (e *Evidence) shift(w plant.Wheel, s, base *Step) (measure.Estimate, error) {
	in := readings{e: e}
	return in.shift(w, s, base), in.err
}

// Shift is how far one motor's mean command moved from its baseline, shares of
// range, 0..1 or -1..1.
type Shift struct {
	Baseline float64 // mean in the baseline's window
	Command  float64 // mean in the step's window
	Shift    float64 // Command - Baseline
	Expanded float64 // half-width of Shift's interval
}

// MeasureShift reads one motor's shift in a step, for people to look at; checks
// judge the same numbers. Where it could not be read, why says so and m says nothing:
// the verdict is then Fail where the motor was silent, and Undecided where what it sent,
// if anything, could not be read.
func MeasureShift(e *Evidence, w plant.Wheel, s *Step) (m Shift, v Verdict, why string) {
	in := readings{e: e}
	now := in.mean(w, s)
	base := in.baselineOf(s)
	before := in.mean(w, base)
	if in.err != nil {
		r := unjudged("", in.err)
		return m, r.Verdict, r.Why
	}
	shift := measure.Difference(now, before)
	return Shift{Baseline: before.Value, Command: now.Value, Shift: shift.Value, Expanded: shift.Expanded()}, v, ""
}

// wheel returns the wheel that c names in the step.
func (e *Evidence) wheel(c law.Corner, s *Step) (plant.Wheel, error) {
	turn := s.Turn(e.policy())
	w, ok := c.Wheel(turn)
	switch {
	case !ok:
		return 0, s.undecided("%q is no motor; use one of %s", c, list(law.Corners))
	case turn == 0 && string(c) != w.String():
		return w, s.undecided("the car goes straight in this step, so that no motor is %s; name the wheel, or steer", c)
	}
	return w, nil
}

// withoutUncertain returns frames without those few that the sampler saw far less surely than
// most, as in a gap; all where they are not few.
func withoutUncertain(frames []trace.Frame) []trace.Frame {
	const (
		far  = 4    // times the median uncertainty
		most = 0.25 // of all frames
	)
	uncertainties := make([]float64, len(frames))
	for i, f := range frames {
		uncertainties[i] = f.Uncertainty
	}
	slices.Sort(uncertainties)
	bound := far * uncertainties[len(uncertainties)/2]
	kept := slices.DeleteFunc(slices.Clone(frames), func(f trace.Frame) bool { return f.Uncertainty > bound })
	if unsure := len(frames) - len(kept); float64(unsure) > most*float64(len(frames)) || len(kept) < fewest {
		return frames
	}
	return kept
}
