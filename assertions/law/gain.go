package law

import (
	"math"

	"hilrig/assertions/measure"
)

// nearMiddle is how near the middle of two of a switch's steps a gain may be taken for
// either, as a share of their distance: switches have a hysteresis. Common practice, no source.
const nearMiddle = 0.1

// gain returns the gain that the firmware may take, a share of at least 0: where the trim is a
// switch, the nearest of its steps.
func (l *Law) gain(g measure.Interval) measure.Interval {
	g.Low, g.High = max(g.Low, 0), max(g.High, 0)
	steps := l.p.GainSteps
	if len(steps) == 0 {
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
