package law

import (
	"math"
	"slices"

	"hilrig/assertions/measure"
)

// nearMiddle is how near the middle of two of a switch's steps a gain may be read as
// either, as a share of their distance: switches have a hysteresis. Common practice, no source.
const nearMiddle = 0.1

// nearKnown is how near a gain at which the policy says what the trim does a receiver pulse lies that is
// meant to be that, share of the trim's range; common practice, no source.
const nearKnown = 0.01

// KnownGains returns the gains at which a policy says what the firmware takes the trim for, shares, ascending: the
// steps of a switch; where the policy says nothing of steps the ends of the trim and the gain that its
// size is declared at, which a continuous trim and a switch have in common. It is empty where the trim is
// continuous, so that all are known.
func (p *Policy) KnownGains() []float64 {
	if len(p.GainSteps) > 0 || p.Unsaid&UnsaidGainSteps == 0 {
		return p.GainSteps
	}
	known := []float64{0, 1}
	if at := p.ShiftAt; at != nil && at.Gain > 0 && at.Gain < 1 {
		known = []float64{0, at.Gain, 1}
	}
	return known
}

// LeastGain returns the least gain, a share, that firmware takes a trim for: where it is a switch the nearest of its steps, and
// about the middle of two the lower.
func (p *Policy) LeastGain(trim float64) float64 {
	for i, s := range p.GainSteps {
		if i+1 == len(p.GainSteps) || trim <= edge(s, p.GainSteps[i+1], nearMiddle) {
			return s
		}
	}
	return trim
}

// unsaid returns the gain that the firmware may take where the policy says nothing of steps: at a gain that
// is known that, between two of them anything between.
func (l *Law) unsaid(g measure.Interval) measure.Interval {
	out := g
	for _, k := range l.known {
		if k <= g.Low+nearKnown {
			out.Low = min(g.Low, k)
		}
	}
	for _, k := range slices.Backward(l.known) {
		if k >= g.High-nearKnown {
			out.High = max(g.High, k)
		}
	}
	return out
}

// gain returns the gain that the firmware may take, a share of at least 0: where the trim is a
// switch, the nearest of its steps.
func (l *Law) gain(g measure.Interval) measure.Interval {
	g.Low, g.High = max(g.Low, 0), max(g.High, 0)
	steps := l.p.GainSteps
	switch {
	case len(steps) > 0:
	case len(l.known) > 0:
		return l.unsaid(g)
	default:
		return g
	}
	low, high := math.Inf(1), math.Inf(-1)
	for k, s := range steps {
		from, to := math.Inf(-1), math.Inf(1)
		if k > 0 {
			from = edge(steps[k-1], s, -nearMiddle)
		}
		if k+1 < len(steps) {
			to = edge(s, steps[k+1], nearMiddle)
		}
		if g.High >= from && g.Low <= to {
			low, high = min(low, s), max(high, s)
		}
	}
	return measure.Interval{Low: low, High: high}
}

// edge returns the middle of two values, moved by a share of their distance.
func edge(a, b, by float64) float64 { return (a+b)/2 + float64(by*(b-a)) }
