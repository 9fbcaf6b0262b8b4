package suites

import (
	"context"
	"sync"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"hilrig/rig/benchtest/drawn"
	"hilrig/rig/signal"
	"hilrig/suites/demo"
	"hilrig/suites/language"
)

// The demo board answers within its loop's period, its output's, and what a frame of
// the sensor and one of the motor take.
const demoSlowest = 9 * signal.Millisecond

// slowestAnswer returns the longest that any motor took, s.
func slowestAnswer(t *testing.T, r *Rate) float64 {
	t.Helper()
	require.NotEmpty(t, r.Response.Motors)
	slowest := 0.0
	for i := range r.Response.Motors {
		times := r.Response.Motors[i].Times
		slowest = max(slowest, times[len(times)-1])
	}
	return slowest
}

// demoRate is what the rate of the demo's board comes to, measured once for all tests; none changes it.
var demoRate struct {
	once sync.Once
	rate *Rate
	err  error
}

func ratedDemo(t *testing.T) *Rate {
	t.Helper()
	demoRate.once.Do(func() { demoRate.rate, demoRate.err = load(t, "").Rate(context.Background()) })
	require.NoError(t, demoRate.err)
	require.NotNil(t, demoRate.rate)
	return demoRate.rate
}

// loadOn loads the demo with further lines in its bench file.
func loadOn(t *testing.T, lines string) *Setup {
	t.Helper()
	s, err := Load(Files{
		Car:   language.Source{Path: demo.CarPath, Data: demo.CarYAML},
		Bench: language.Source{Path: demo.BenchPath, Data: append(append([]byte(nil), demo.BenchYAML...), lines...)},
		Seed:  1,
	})
	require.NoError(t, err)
	return s
}

// An edge output that stalls makes answers late that were not: those trials are left out and
// counted, and what remains says the same as in time.
func TestRateLeavesOutTrialsInWhichTheRigWasLate(t *testing.T) {
	for i, tt := range []struct {
		name, bench string
		loopToo     bool // frames of the loop's excitation are left out too
	}{
		{"an edge output that stalls", "player: {stalls: {every: 600 ms, least: 3 ms, most: 9 ms}}\n", true},
		{"a sampler that stalls", "sampler: {period: 175 ns, stalls: {every: 100 ms, least: 2 ms, most: 5 ms}}\n", false},
	} {
		if !drawn.Row(i, 2) {
			continue
		}
		t.Run(tt.name, func(t *testing.T) {
			r, err := loadOn(t, tt.bench).Rate(context.Background())
			require.NoError(t, err)
			assert.Empty(t, r.Response.Why)
			assert.Greater(t, r.Response.LeftOut, 10)
			assert.GreaterOrEqual(t, r.Response.Changes-r.Response.LeftOut, fewestRated)
			assert.Less(t, slowestAnswer(t, r), demoSlowest.Seconds())
			assert.Equal(t, tt.loopToo, r.Loop.LeftOut > 0)
			assert.Empty(t, r.Loop.Why)
			assert.InDelta(t, 250, r.Loop.Rate, 1)
		})
	}
}

func TestRateOnARigThatIsNeverInTimeIsUndecided(t *testing.T) {
	r, err := loadOn(t, "player: {stalls: {every: 20 ms, least: 200 us, most: 300 us}}\n").Rate(context.Background())
	require.NoError(t, err)
	assert.False(t, r.Decided())
	assert.Contains(t, r.Response.Why, "the rig played its own wires late")
	assert.Less(t, r.Response.Changes-r.Response.LeftOut, fewestRated)
	assert.GreaterOrEqual(t, r.Response.Changes, fewestRated)
	assert.Contains(t, r.Loop.Why, "the rig played its own wires late")
	assert.NotZero(t, r.Loop.LeftOut)
}

func TestRateOnAPerfectBenchLeavesOutNothing(t *testing.T) {
	r := ratedDemo(t)
	assert.True(t, r.Decided())
	assert.Zero(t, r.Response.LeftOut)
	assert.Zero(t, r.Loop.LeftOut)
	assert.Less(t, slowestAnswer(t, r), demoSlowest.Seconds())
}

// A sampler too coarse for any command is not taken for a board that does not follow, nor
// is a silent board.
func TestRateDistinguishesWhatTheSamplerLeftOpenFromSilence(t *testing.T) {
	r, err := loadOn(t, "sampler: {period: 60 us}\n").Rate(context.Background())
	require.NoError(t, err)
	assert.Regexp(t, `^the sampler left open (\d+) of \d+ commands of motor_front_left; play it on a machine that keeps time$`, r.Loop.Why)
	for i := range r.Outputs {
		assert.False(t, r.Outputs[i].Timed())
		assert.Greater(t, r.Outputs[i].LeftOpen(), 100)
	}
	r, err = load(t, "null:silent").Rate(context.Background())
	require.NoError(t, err)
	assert.Equal(t, "motor_front_left sent no command in the window", r.Loop.Why)
	for i := range r.Outputs {
		assert.False(t, r.Outputs[i].Timed())
		assert.Zero(t, r.Outputs[i].LeftOpen())
	}
}
