package suites

import (
	"context"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"hilrig/rig/benchtest/drawn"
	"hilrig/rig/board"
	"hilrig/suites/record"
)

// gathering is a school whose shift gathers with time, so that no sweep tells its demand.
var gathering = lossSchool{name: "a shift that gathers", policy: []string{"shift_at: {error: 60 deg/s, gain: 50 %, is: 8 %, within: 10 %, grows: integrating, most: 20 %}", "response:"}, board: func(s *board.Settings) {
	s.Grows, s.Most, s.GrowsIn = board.Integrating, 0.2, 600*lossMS
}}

// Firmware whose shift gathers and that takes the demand for too much or too little is told by which branch gathers beside the
// demand: the wheelbase of another car, a speed summed of four wheels and divided by three, a steering of another servo. What
// lies within the policy's tolerance of 5 % passes.
func TestTheDemandOfAShiftThatGathersIsAsked(t *testing.T) {
	for i, row := range []struct {
		name  string
		fails bool
		board func(s *board.Settings)
	}{
		{"as declared", false, func(*board.Settings) {}},
		{"3 % short of it", false, func(s *board.Settings) {
			s.Wheelbase, s.UndersteerGradient = s.Wheelbase/0.97, s.UndersteerGradient/0.97
		}},
		{"3 % beyond it", false, func(s *board.Settings) {
			s.Wheelbase, s.UndersteerGradient = s.Wheelbase/1.03, s.UndersteerGradient/1.03
		}},
		{"a wheelbase of another car", true, func(s *board.Settings) { s.Wheelbase *= 0.6 }},
		{"a speed a third too high", true, func(s *board.Settings) { s.WheelRadius *= 4. / 3 }},
		{"a steering that turns by a third less", true, func(s *board.Settings) { s.SteerAtSpan /= 1.5 }},
	} {
		if !drawn.Row(i, 3) {
			continue
		}
		t.Run(row.name, func(t *testing.T) {
			s := schoolSetup(t, &gathering, "demand", func(b *board.Settings) {
				gathering.board(b)
				row.board(b)
			})
			r, _, err := s.Run(context.Background(), Options{Only: "demand from"})
			require.NoError(t, err)
			assert.Equal(t, row.fails, r.Counts.Fail > 0, "%d failed, %d passed", r.Counts.Fail, r.Counts.Pass)
			assert.Greater(t, r.Counts.Pass, 20)
			for _, c := range r.Suites[0].Cases {
				for _, k := range c.Checks {
					assert.False(t, !row.fails && k.Verdict == record.Undecided, "%s: %s: %s", c.Variant, k.Name, k.Why)
					if k.Verdict == record.Fail {
						assert.Contains(t, k.Keys, "demand", k.Why)
					}
				}
			}
			assert.True(t, s.keysAsked(r)["demand"])
		})
	}
}
