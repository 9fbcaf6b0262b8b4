package suites_test

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"hilrig/rig/signal"
	"hilrig/rig/trace"
	"hilrig/stimulus"
	"hilrig/suites"
	"hilrig/suites/file"
)

// At rest the built-in board sends idle, an arming that the bench file asks for or not;
// a board that passes anything else on is seen to.
func TestABoardAtRest(t *testing.T) {
	for _, tt := range []struct {
		name, board string
		arm         bool
		idle        bool
	}{
		{"built-in", "built-in", false, true},
		{"built-in, of a bench that drives on", "built-in", true, true},
		{"random", "null:random_commands", false, false},
	} {
		t.Run(tt.name, func(t *testing.T) {
			s, err := suites.Load(bramble(tt.board, "split"))
			require.NoError(t, err)
			if tt.arm { // by full throttle, and left there
				s.Bench.Board.Arm = []file.Held{{Values: stimulus.Values{Throttle: 1}, For: signal.Second}}
				s.Bench.Board.BetweenCases.Throttle = 1
			}
			tr, _, err := s.Settle(t.Context(), signal.Second)
			require.NoError(t, err)
			worst := 0.0
			for m := range tr.Motor {
				assert.Greater(t, len(tr.Motor[m].Frames), 40)
				for _, f := range tr.Motor[m].Frames {
					worst = max(worst, f.Value)
				}
			}
			assert.Equal(t, tt.idle, worst < 0.01, "a command of %v", worst)
			assert.Equal(t, 1000, tr.Rows())
			assert.Zero(t, tr.Column[trace.Throttle][999])
		})
	}
	t.Run("silent", func(t *testing.T) {
		s, err := suites.Load(bramble("null:silent", "split"))
		require.NoError(t, err)
		tr, _, err := s.Settle(t.Context(), signal.Second)
		require.NoError(t, err)
		assert.Empty(t, tr.Motor[0].Frames)
	})
}
