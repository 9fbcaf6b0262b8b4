//go:build full

package suites

// Each of these measures a rate several times over, which takes seconds: CI runs them by name, in its step long.

import (
	"context"
	"sync"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"hilrig/plant"
	"hilrig/rig/benchtest/drawn"
	"hilrig/rig/board"
	"hilrig/rig/signal"
	"hilrig/suites/record"
)

// The demo board answers within its loop's period, its output's, and what a frame of
// the sensor and one of the motor take.
const demoSlowest = 9 * signal.Millisecond

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

// rated returns one motor's median.
func rated(t *testing.T, r *Rate, w plant.Wheel) Quantile {
	t.Helper()
	for i := range r.Response.Motors {
		if m := &r.Response.Motors[i]; m.Wheel == w {
			return m.Quantiles[0]
		}
	}
	t.Fatalf("%v does not move: %s", w, r.Response.Why)
	return Quantile{}
}

// Whatever the bench's tick, the same is found: a longer one is shortened, a shorter one kept.
func TestRateShortensLongTicks(t *testing.T) {
	for _, tt := range []struct{ tick, want signal.Time }{
		{10 * signal.Millisecond, signal.Millisecond / 4},
		{150 * signal.Microsecond, 150 * signal.Microsecond},
	} {
		s := load(t, "")
		s.wiring.Tick = tt.tick
		r, err := s.Rate(context.Background())
		require.NoError(t, err)
		assert.Equal(t, tt.want, r.Tick)
		assert.Equal(t, tt.tick, s.wiring.Tick, "the setup keeps its own")
		assert.True(t, r.Decided())
		assert.InDelta(t, 250, r.Loop.Rate, 0.5)
	}
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

// What one motor does later than the others shows as that motor's, and a policy that the first
// motor keeps is not kept for it.
func TestRateShowsOneMotorThatIsLate(t *testing.T) {
	plain := loadPolicy(t, "response: {at_most: 9 ms, of: 95 %}")
	good, err := plain.Rate(t.Context())
	require.NoError(t, err)
	good.Hold()
	assert.Equal(t, record.Go, good.Outcome())
	for _, row := range []struct {
		name string
		x    board.Shaping
	}{
		{"4 ms late", board.Shaping{Delay: [4]signal.Time{plant.RearRight: 4 * ms}}},
		{"filtered", board.Shaping{CommandLag: 60 * ms}},
		{"half rate", board.Shaping{Every: [4]int{plant.RearRight: 2}}},
	} {
		t.Run(row.name, func(t *testing.T) {
			x := row.x
			s := loadPolicy(t, "response: {at_most: 9 ms, of: 95 %}")
			truth := withShaping(s, x)
			r, err := s.Rate(t.Context())
			require.NoError(t, err)
			q := rated(t, r, plant.RearRight)
			assert.Greater(t, q.Within.Low, rated(t, good, plant.RearRight).Within.High)
			assert.InDelta(t, truth.median(plant.RearRight), q.Value, q.Within.Width())
			assert.Equal(t, plant.RearRight, r.Response.Motors[r.Response.Slowest].Wheel)
			r.Hold()
			assert.Equal(t, record.NoGo, r.Outcome())
			require.Len(t, r.Held, 2)
			assert.NotEqual(t, record.Fail, r.Held[0].Verdict, "a filter may hide the loop")
			assert.Equal(t, record.Fail, r.Held[1].Verdict)
			assert.Contains(t, r.Held[1].Quantity, "rear_right")
			assert.Equal(t, record.NoGo, r.JSON(true).Outcome)
			assert.Empty(t, r.JSON(false).Held)
		})
	}
}

// Twice the latency reads twice as large.
func TestRateShowsADoubledLatency(t *testing.T) {
	was := rated(t, ratedDemo(t), plant.FrontLeft)
	s := load(t, "")
	late := signal.FromSeconds(was.Value)
	withShaping(s, board.Shaping{Delay: [4]signal.Time{late, late, late, late}})
	r, err := s.Rate(t.Context())
	require.NoError(t, err)
	assert.InEpsilon(t, 2*was.Value, rated(t, r, plant.FrontLeft).Value, 0.07)
}
