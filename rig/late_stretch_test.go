package rig_test

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"hilrig/rig"
	"hilrig/rig/signal"
	"hilrig/rig/simulated"
	"hilrig/rig/trace"
	"hilrig/stimulus"
)

// logging is a bench that samples steer alone and has a log of the rest.
type logging struct {
	*simulated.Bench
	steer signal.Line
	log   []signal.LateStretch
}

func (l *logging) Exact() bool                   { return false }
func (l *logging) Samples(line signal.Line) bool { return line == l.steer }
func (l *logging) LateStretches(dst []signal.LateStretch) []signal.LateStretch {
	dst = append(dst, l.log...)
	l.log = nil
	return dst
}

func (l *logging) ReadBack(dst []signal.Edge) ([]signal.Edge, error) {
	all, err := l.Bench.ReadBack(nil)
	for _, e := range all {
		if e.Line == l.steer {
			dst = append(dst, e)
		}
	}
	return dst, err
}

func TestABenchesOwnLogCountsAsLate(t *testing.T) {
	w := wiring()
	board := &listener{layout: w.Layout()}
	bench, err := simulated.New(simulated.Settings{Layout: board.layout, Board: board, Sampler: simulated.Sampler{Period: 175}})
	require.NoError(t, err)
	t.Cleanup(func() { assert.NoError(t, bench.Close()) })
	l := &logging{Bench: bench}
	l.steer, _ = board.layout.Line("steer")
	r, err := rig.New(l, rig.Settings{Wiring: w, Car: car(), Seed: 3})
	require.NoError(t, err)
	l.log = []signal.LateStretch{
		{From: 1000 * us, To: 1400 * us, Worst: 300 * us, Count: 40},
		{From: 1380 * us, To: 1500 * us, Worst: 350 * us, Count: 2},
		{From: 1700 * us, To: 1720 * us, Worst: 20 * us, Count: 1},
	}
	tr := heard(t, r, stimulus.Held(stimulus.Values{Speed: 5, Gain: 0.5}, 100*signal.Millisecond))
	timing := r.Timing()
	assert.EqualValues(t, 43, timing.LateCount)
	assert.Equal(t, 350*us, timing.Late)
	assert.Equal(t, []trace.Delay{
		{From: 1000 * us, To: 1500 * us, Worst: 350 * us},
		{From: 1700 * us, To: 1720 * us, Worst: 20 * us},
	}, tr.Delays)
	uncertain := 0
	for _, s := range tr.Sent[trace.SentSteer] {
		if s.EndUncertainty > 0 {
			uncertain++
		}
	}
	assert.NotZero(t, uncertain, "it is read back")
	for _, s := range tr.Sent[trace.SentThrottle] {
		assert.Zero(t, s.EndUncertainty, "it is not")
	}
}
