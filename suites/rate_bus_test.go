package suites

import (
	"context"
	"os"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"hilrig/rig/signal"
	"hilrig/rig/trace"
	"hilrig/suites/demo"
	"hilrig/suites/language"
)

// loadBus loads the demo car on a bench whose receiver sends all its channels on one line.
func loadBus(t *testing.T, board string) *Setup {
	t.Helper()
	const path = "testdata/receiver_bus.yaml"
	data, err := os.ReadFile(path)
	require.NoError(t, err)
	s, err := Load(Files{
		Car:   language.Source{Path: demo.CarPath, Data: demo.CarYAML},
		Bench: language.Source{Path: path, Data: data},
		Board: board,
		Seed:  1,
	})
	require.NoError(t, err)
	return s
}

// On a receiver bus the throttle goes out with the bus's frames: a board that does not
// answer the yaw rate is asked by those.
func TestRateOnAReceiverBusOfABoardThatMovesNothing(t *testing.T) {
	for _, board := range []string{"null:silent", "null:constant_idle"} {
		t.Run(board, func(t *testing.T) {
			r, err := loadBus(t, board).Rate(context.Background())
			require.NoError(t, err)
			assert.False(t, r.Decided())
			assert.Equal(t, trace.Throttle, r.Response.Channel)
			assert.Equal(t, "no motor moves with throttle", r.Response.Why)
			assert.Empty(t, r.Response.Motors)
		})
	}
}

func TestSentEveryOfAReceiverBus(t *testing.T) {
	s := loadBus(t, "")
	assert.InDelta(t, 1.0/70, s.sentEvery(trace.Throttle).Seconds(), 1e-9, "70 Hz by the file")
	assert.Equal(t, 5*signal.Millisecond, s.sentEvery(trace.YawRate), "200 Hz")
	s.wiring.Frames = nil
	assert.Zero(t, s.sentEvery(trace.YawRate), "nothing carries it")
}

func TestWholeFrames(t *testing.T) {
	assert.Equal(t, signal.Time(10), wholeFrames(7, 5))
	assert.Equal(t, signal.Time(10), wholeFrames(10, 5))
	assert.Equal(t, signal.Time(7), wholeFrames(7, 0), "there is no grid")
	rapid.Check(t, func(t *rapid.T) {
		apart := signal.Time(rapid.Int64Range(0, 1e10).Draw(t, "apart"))
		period := signal.Time(rapid.Int64Range(0, 1e9).Draw(t, "period"))
		x := wholeFrames(apart, period)
		if period > 0 {
			assert.Zero(t, x%period)
		}
		assert.True(t, x >= apart && x < apart+max(period, 1))
	})
}
