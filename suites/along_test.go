package suites

import (
	"context"
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"hilrig/assertions"
	"hilrig/rig/signal"
	"hilrig/rig/trace"
	"hilrig/suites/record"
)

func TestCommandsAlongACase(t *testing.T) {
	var first, again, other []*record.Along
	into := func(all *[]*record.Along) Options {
		return Options{Evidence: func(_, _ int, e *assertions.Evidence) {
			a := Along(e)
			*all = append(*all, a)
			bins := len(a.Motors[2].Mean)
			assert.InDelta(t, float64(bins)*10, float64(e.Trace.Rows()), 10, "bins of 10 ms")
			assert.Len(t, a.Played["yaw_rate"], bins)
			sum, n := 0.0, 0
			for i, x := range a.Motors[2].Mean {
				if math.IsNaN(x) {
					continue
				}
				frames := e.Trace.Motor[2].Between(e.Trace.Start+signal.Time(i)*10*signal.Millisecond, e.Trace.Start+signal.Time(i+1)*10*signal.Millisecond)
				sum, n = sum+x*float64(len(frames)), n+len(frames)
				assert.LessOrEqual(t, a.Motors[2].Low[i], x+1e-12)
				assert.GreaterOrEqual(t, a.Motors[2].High[i], x-1e-12)
			}
			mean := 0.0
			all := e.Trace.Motor[2].Between(e.Trace.Start, e.Trace.Start+signal.Time(bins)*10*signal.Millisecond)
			assert.Len(t, all, n)
			for _, f := range all {
				mean += f.Value
			}
			assert.InDelta(t, mean, sum, 1e-9, "every command stands in one bin")
			// Throttle 40 %, gain 50 %: as the suite says.
			assert.InDelta(t, 0.4, a.Played["throttle"][bins-2], 1e-9)
			assert.InDelta(t, 0.5, a.Played["gain"][bins-2], 1e-9)
		}}
	}
	for _, all := range []*[]*record.Along{&first, &again} {
		_, _, err := load(t, "", short).Run(context.Background(), into(all))
		require.NoError(t, err)
	}
	_, _, err := load(t, "built-in:yaw_sign", short).Run(context.Background(), into(&other))
	require.NoError(t, err)
	require.Len(t, first, 3)
	for i := range first {
		assert.Equal(t, first[i].Stimulus, again[i].Stimulus)
		assert.Equal(t, first[i].Stimulus, other[i].Stimulus, "another board, the same stimulus")
	}
	assert.NotEqual(t, first[0].Stimulus, first[1].Stimulus)
	assert.Equal(t, first[0].Motors, again[0].Motors)
	assert.NotEqual(t, first[0].Motors, other[0].Motors)
	seeded := load(t, "", short)
	seeded.Seed = 2
	other = nil
	_, _, err = seeded.Run(context.Background(), into(&other))
	require.NoError(t, err)
	assert.NotEqual(t, first[0].Stimulus, other[0].Stimulus, "other noise")
}

func TestWhereTheCarWentIsKeptOfADrive(t *testing.T) {
	const drive = `
suite: drive
defaults: {speed: 4 m/s, steer: 4 deg, throttle: 40 %, gain: 50 %, settle: 100 ms, observe: 400 ms}
cases:
  - case: around
    closed: yes
    compare: yes
    hold: {}
    expect: [{measure: rms_yaw_error, better_than: off, step: hold}]
`
	var all []*record.Along
	_, _, err := load(t, "", drive).Run(context.Background(), Options{Evidence: func(_, _ int, e *assertions.Evidence) {
		all = append(all, Along(e))
		assert.InDelta(t, e.Trace.Column[trace.PositionX][199], all[0].Played["position_x"][19], 0.05, "of the bin that ends there, the car at 4 m/s")
		assert.InDelta(t, e.NoBoard.Trace.Column[trace.PositionX][199], all[0].Played["without_board.position_x"][19], 0.05)
	}})
	require.NoError(t, err)
	require.Len(t, all, 1)
	assert.Empty(t, all[0].Stimulus, "in closed loop the board is part of what is played")
	assert.Contains(t, all[0].Played, "without_shift.yaw_rate")
}
