package assertions

import (
	"cmp"
	"math"
	"slices"

	"hilrig/rig/signal"
	"hilrig/rig/trace"
)

// How far around its step a check reads a trace that is too long to be read whole.
const (
	// reach is how far before its step a check reads what was played, longer than any
	// response that a policy may declare.
	reach = 15 * signal.Second
	// longAgo is how far before a fault its wire is read.
	longAgo = 10 * 60 * signal.Second
	// longestPulse is longer than any pulse or frame.
	longestPulse = signal.Second
	// longPause is longer than commands stand apart on a line that is not silent.
	longPause = 10 * signal.Second
	// fewFrames are enough to tell how far apart frames stand.
	fewFrames = 50_000
)

// Columns says which columns of a trace checks read, in closed loop or not.
func Columns(closed bool) (read [trace.Channels]bool) {
	for _, c := range []trace.Channel{trace.Speed, trace.YawRate, trace.Steer, trace.Throttle, trace.Gain,
		trace.WheelFrontLeft, trace.WheelFrontRight, trace.WheelRearLeft, trace.WheelRearRight} {
		read[c] = true
	}
	for _, c := range []trace.Channel{trace.LateralSpeed, trace.Heading, trace.PositionX, trace.PositionY} {
		read[c] = closed
	}
	return read
}

// RowsRead returns the stretches of a trace whose rows checks read, in order and apart, given
// the steps of the case, with times counted as the stretches' are. It is never nil.
func RowsRead(checks []Check, steps []Step) []trace.Span {
	e := Evidence{Steps: steps}
	spans := []trace.Span{}
	for _, c := range checks {
		name := ""
		switch c := c.(type) {
		case PolicyBranch:
			name = c.Step
		case Measured:
			name = c.Step
		default:
			continue // it reads commands alone
		}
		if s, ok := e.Step(name); ok {
			spans = append(spans, trace.Span{From: min(s.Applied, s.From) - reach, To: s.To + reach})
		}
	}
	slices.SortFunc(spans, func(a, b trace.Span) int { return cmp.Compare(a.From, b.From) })
	apart := spans[:0]
	for _, s := range spans {
		if n := len(apart); n > 0 && s.From <= apart[n-1].To {
			apart[n-1].To = max(apart[n-1].To, s.To)
			continue
		}
		apart = append(apart, s)
	}
	return apart
}

// since is from when on a check of a step reads the trace: from the beginning, or where the
// trace folds from a while before the step.
func (e *Evidence) since(s *Step) signal.Time {
	if e.Trace == nil || !e.Trace.Folds() {
		return math.MinInt64 / 2
	}
	return min(s.Applied, s.From) - reach
}

// until is up to when a check of a step reads the trace.
func (e *Evidence) until(s *Step) signal.Time {
	if e.Trace == nil || !e.Trace.Folds() {
		return math.MaxInt64 / 2
	}
	return s.To + reach
}
