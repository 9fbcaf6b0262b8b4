package suites_test

import (
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"hilrig/rig/board"
	"hilrig/suites"
)

// A board that arms at an idle throttle stays off while the throttle is up, whatever else it waits for: once the throttle was let
// go, it is seen whether it waits for its inputs too.
func TestABoardThatArmsIsAskedWhatElseItWaitsFor(t *testing.T) {
	f := bramble("from-policy", "losses")
	f.Car.Data = edited(t, f.Car.Data, "  start: idle\n", "  start: idle\n  arms: throttle_at_idle\n")
	s := load(t, f)
	for name, row := range map[string]struct {
		without board.Absent
		only    string
		well    bool
	}{
		"waits for the yaw rate":           {board.Absent{}, "the motors stay off until the inputs are there", true},
		"drives without the yaw rate":      {board.Absent{Yaw: true}, "the motors stay off until the inputs are there", false},
		"waits for the steering":           {board.Absent{}, "the motors stay off until the steering is there", true},
		"drives without the steering":      {board.Absent{Steer: true}, "the motors stay off until the steering is there", false},
		"waits for the receiver":           {board.Absent{}, "the motors stay off until the receiver is there", true},
		"is asked to wait for idle itself": {board.Absent{}, "the motors stay off until the throttle was let go", true},
	} {
		t.Run(name, func(t *testing.T) {
			b, err := s.OfPolicy()
			require.NoError(t, err)
			require.True(t, b.ArmsAtIdle)
			b.StartsWithout = row.without
			s.WithBoard(name, b)
			r, _ := play(t, s, suites.Options{Only: row.only})
			require.NotZero(t, r.Counts.Pass+r.Counts.Fail)
			if row.well {
				assert.Empty(t, troubles(r))
				return
			}
			assert.Contains(t, strings.Join(troubles(r), "\n"), "outputs idle until the inputs are valid")
		})
	}
}
