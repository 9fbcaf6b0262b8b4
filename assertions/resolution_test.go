package assertions_test

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"hilrig/assertions"
	"hilrig/assertions/law"
	"hilrig/rig/signal"
	"hilrig/rig/trace"
)

// Firmware whose slew limit comes last spreads a coarse step over several commands, each of which goes by less than
// the resolution. A step of 2 % takes 20 ms at 1 s through the range, or seven commands.
func TestCoarseStepsThatASlewLimitSpreadsAreSeen(t *testing.T) {
	p := linePolicy("resolution")
	p.Smoothing = &law.Smoothing{FullRangeIn: signal.Second}
	slewed := func(coarse float64) func(f *firmware) {
		return func(f *firmware) {
			f.coarse = coarse
			var was [4]float64
			f.last = func(_ *seen, m *[4]float64) {
				for i := range m {
					m[i] = max(was[i]-0.003, min(m[i], was[i]+0.003))
				}
				was = *m
			}
		}
	}
	fine := judge("resolution", "", p, slewed(0.003), lineCases["resolution"]...)
	assert.Equal(t, assertions.Pass, assertions.Worst(fine), "%+v", fine)
	coarse := judge("resolution", "", p, slewed(0.02), lineCases["resolution"]...)
	require.Equal(t, assertions.Fail, assertions.Worst(coarse), "%+v", coarse)
	assert.Contains(t, coarse[0].Why, "over which the policy's smoothing spreads a step")
}

// A shift that gathers with time may hold what it gathered, but with the gain at 0 gathers nothing, so that it hides no steps.
func TestCoarseStepsAreSeenWhereAShiftMayGather(t *testing.T) {
	p := linePolicy("resolution")
	at := *p.ShiftAt
	at.Grows, at.Most = law.GrowthIntegrating, 0.5
	p.ShiftAt = &at
	still := swept(stretch(titled("sweep", held(1, 0.7)), 300*ms, 6*signal.Second), trace.Throttle)
	still.Gain = 0
	coarse := judge("resolution", "", p, func(f *firmware) { f.coarse = 0.02 }, still)
	assert.Equal(t, assertions.Fail, assertions.Worst(coarse), "%+v", coarse)
	fine := judge("resolution", "", p, func(f *firmware) { f.coarse = 0.003 }, still)
	assert.Equal(t, assertions.Pass, assertions.Worst(fine), "%+v", fine)
}

// A receiver's bus may go in steps of nearly the declared resolution however slowly it is swept. Commands that keep the
// resolution all the same are fine; ones that jump by more are coarse where the throttle's steps do not explain it, and
// open where they may.
func TestFineCommandsAreSeenOnACoarseThrottle(t *testing.T) {
	p := linePolicy("resolution")
	fast := swept(stretch(titled("sweep", held(1, 0.7)), 300*ms, signal.Second), trace.Throttle)
	fast.Gain = 0
	own := func(limit float64, change func(f *firmware)) []assertions.Result {
		p.Resolution = new(limit)
		return judge("resolution", "", p, change, fast)
	}
	step := 0.0
	for limit := 0.0005; step == 0; limit *= 1.05 {
		if r := own(limit, asDeclared); r[0].Verdict == assertions.Pass {
			step = limit
		}
		require.Less(t, limit, 0.1)
	}
	fine := own(1.1*step, asDeclared)
	require.Equal(t, assertions.Pass, assertions.Worst(fine), "%+v", fine)
	open := own(1.1*step, func(f *firmware) { f.coarse = 1.5 * step })
	require.Equal(t, assertions.Undecided, assertions.Worst(open), "%+v", open)
	assert.Contains(t, open[0].Why, "declare a resolution of")
	coarse := own(1.1*step, func(f *firmware) { f.coarse = 4 * step })
	assert.Equal(t, assertions.Fail, assertions.Worst(coarse), "%+v", coarse)
}
