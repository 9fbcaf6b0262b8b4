package suites_test

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"hilrig/rig/board"
	"hilrig/suites"
	"hilrig/suites/record"
)

// TestAFailedCheckNamesTheKeyThatIsBroken plays single cases to a board that keeps the demo car's policy with
// another line, and to one that breaks just that line.
func TestAFailedCheckNamesTheKeyThatIsBroken(t *testing.T) {
	for _, tt := range []struct {
		lines, key, suite, only string
		broken                  func(b *board.Settings)
	}{
		{"sum_cap: 350 %", "sum_cap", "limits", "full throttle straight on", func(b *board.Settings) { b.SumCap = 0 }},
		{"throttle_curve: none", "throttle_curve", "limits", "the throttle as it is", func(b *board.Settings) { b.ThrottleBend = 0.3 }},
		{"motors_equal_within: 1 %", "motors_equal_within", "limits", "the throttle as it is", func(b *board.Settings) { b.Trim[3] = -0.03 }},
		{"gain_steps: [0 %, 50 %, 100 %]", "gain_steps", "split", "shift at any position of the trim", func(b *board.Settings) { b.GainSteps = nil }},
		{"gain_steps: [0 %, 100 %]", "gain_steps", "split", "shift at any position of the trim", func(b *board.Settings) { b.GainSteps = nil }},
		{"turn_from: yaw_rate", "turn_from", "split", "opposite lock", func(b *board.Settings) { b.TurnFrom = board.TurnFromSteer }},
		{"longest_gap: 20 ms", "longest_gap", "split", "opposite lock", func(b *board.Settings) { b.Shaping.Every[1] = 20 }},
	} {
		t.Run(tt.lines, func(t *testing.T) {
			f := bramble("", tt.suite)
			f.Car.Data = []byte(withLines(string(f.Car.Data), tt.lines))
			s := load(t, f)
			b, err := s.OfPolicy()
			require.NoError(t, err)
			s.WithBoard("kept", b)
			r, _ := play(t, s, suites.Options{Only: tt.only})
			assert.Empty(t, troubles(r))
			tt.broken(&b)
			s = load(t, f)
			s.WithBoard("broken", b)
			r, _ = play(t, s, suites.Options{Only: tt.only})
			assert.Equal(t, record.NoGo, r.Outcome)
			named, _ := failing(r, tt.key)
			assert.True(t, named[tt.key], "%v", named)
		})
	}
}
