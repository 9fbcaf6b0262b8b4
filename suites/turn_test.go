package suites_test

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"hilrig/rig/signal"
	"hilrig/rig/trace"
	"hilrig/suites"
	"hilrig/suites/file"
)

// A turn commands all four motors alike, as far as the throttle is opened and no
// further, and ends at idle, wherever the bench file leaves the throttle between cases.
func TestATurnIsSmallAndAlike(t *testing.T) {
	const throttle = 0.1
	for _, tt := range []struct {
		name, board string
		bench       func(b *file.Bench)
		want        [4]float64
	}{
		{"built-in", "built-in", func(*file.Bench) {}, [4]float64{throttle, throttle, throttle, throttle}},
		{"left somewhere else", "built-in", func(b *file.Bench) {
			b.Board.BetweenCases.Throttle, b.Board.BetweenCases.Steer, b.Board.BetweenCases.YawRate = 0.8, 0.2, 1
		}, [4]float64{throttle, throttle, throttle, throttle}},
		{"split at standstill", "built-in:no_standstill", func(*file.Bench) {}, [4]float64{throttle, throttle, throttle, throttle}},
		{"one gets less", "built-in:motors_unequal", func(*file.Bench) {}, [4]float64{throttle, 0.95 * throttle, throttle, throttle}},
		{"silent", "null:silent", func(*file.Bench) {}, [4]float64{}},
	} {
		t.Run(tt.name, func(t *testing.T) {
			s, err := suites.Load(bramble(tt.board, "split"))
			require.NoError(t, err)
			tt.bench(s.Bench)
			turned, err := s.Turn(t.Context(), suites.Turn{Throttle: throttle, Settle: 200 * signal.Millisecond, Hold: signal.Second})
			require.NoError(t, err)
			tr := turned.Trace
			assert.Equal(t, 850*signal.Millisecond, turned.To-turned.From)
			for w := range tr.Motor {
				sum, n, most, after := 0.0, 0, 0.0, 0.0
				for _, f := range tr.Motor[w].Frames {
					most = max(most, f.Value)
					if f.Start >= turned.From && f.End <= turned.To {
						sum, n = sum+f.Value, n+1
					}
					if f.Start >= turned.Idle {
						after = max(after, f.Value)
					}
				}
				if tt.want[w] == 0 {
					assert.Zero(t, n)
					continue
				}
				assert.InDelta(t, tt.want[w], sum/float64(n), 0.002, w)
				assert.LessOrEqual(t, most, throttle+0.002, "no further")
				assert.LessOrEqual(t, after, 0.002, "back to idle")
			}
			for i := range tr.Rows() {
				for _, c := range []trace.Channel{trace.Speed, trace.YawRate, trace.Steer, trace.Gain} {
					require.Zero(t, tr.Column[c][i], c)
				}
			}
		})
	}
}

// What passes before the throttle opens is told beforehand.
func TestBeforeATurn(t *testing.T) {
	s, err := suites.Load(bramble("built-in", "split"))
	require.NoError(t, err)
	s.Bench.Board.ReadyAfter = 2 * signal.Second
	s.Bench.Board.Arm = []file.Held{{For: signal.Second}, {For: 500 * signal.Millisecond}}
	assert.Equal(t, 6500*signal.Millisecond, s.Before(suites.Turn{Settle: 3 * signal.Second}))
	turned, err := s.Turn(t.Context(), suites.Turn{Throttle: 0.1, Settle: 3 * signal.Second, Hold: signal.Millisecond})
	require.NoError(t, err)
	assert.InDelta(t, 6.5, turned.Trace.Start.Seconds(), 0.01)
}
