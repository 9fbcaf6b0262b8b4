package suites

import (
	"context"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"hilrig/suites/demo"
	"hilrig/suites/language"
)

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
