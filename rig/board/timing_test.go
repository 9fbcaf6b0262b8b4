package board_test

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"hilrig/rig/board"
	"hilrig/rig/signal"
)

// turnsOf runs a board without inputs for a second and returns when its loop turned.
func turnsOf(t *testing.T, change func(s *board.Settings)) (turns []signal.Time) {
	s := board.Bramble()
	s.Timing.Turned = func(at signal.Time) { turns = append(turns, at) }
	change(&s)
	b, err := board.NewBuiltIn(s, layout(), 1)
	require.NoError(t, err)
	_, err = b.Run(nil, 20*signal.Second, nil)
	require.NoError(t, err)
	return turns
}

func TestTimingOfTheLoop(t *testing.T) {
	const period = 4 * signal.Millisecond
	for _, tt := range []struct {
		name          string
		change        func(s *board.Settings)
		least, most   signal.Time // from turn to turn
		late, jittery bool
	}{
		{"even", func(*board.Settings) {}, period, period, false, false},
		{"jitter of 3 %", func(s *board.Settings) { s.Timing.LoopJitter = 0.03 }, period * 97 / 100, period * 103 / 100, false, true},
		{"one in a hundred late", func(s *board.Settings) { s.Timing.LateOneIn, s.Timing.LateBy = 100, signal.Millisecond }, 3 * signal.Millisecond, 5 * signal.Millisecond, true, false},
	} {
		t.Run(tt.name, func(t *testing.T) {
			turns := turnsOf(t, tt.change)
			others, late := 0, 0
			for i := range len(turns) - 1 {
				gap := turns[i+1] - turns[i]
				assert.True(t, gap >= tt.least && gap <= tt.most, "%v", gap)
				if gap != period {
					others++
				}
				if gap > period+period/10 {
					late++
				}
			}
			n := len(turns) - 1
			assert.InDelta(t, period.Seconds(), (turns[n]-turns[0]).Seconds()/float64(n), 3e-6, "in the long run")
			assert.Equal(t, tt.jittery, others > n/2)
			assert.Equal(t, tt.late, late > 0)
			if tt.late {
				assert.InDelta(t, 50, late, 25)
			}
		})
	}
}

func TestTimingThatCannotBe(t *testing.T) {
	for _, tt := range []struct {
		change func(s *board.Settings)
		why    string
	}{
		{func(s *board.Settings) { s.Timing.LoopJitter = 0.6 }, "Timing.LoopJitter"},
		{func(s *board.Settings) { s.Timing.LateBy = s.LoopPeriod }, "Timing.LateBy"},
		{func(s *board.Settings) { s.Timing.CountWindow = -1 }, "Timing.CountWindow"},
		{func(s *board.Settings) { s.Shaping.FramePerLoop, s.Timing.LoopJitter = true, 0.5 }, "too short for a frame"},
	} {
		s := board.Bramble()
		tt.change(&s)
		_, err := board.NewBuiltIn(s, layout(), 1)
		assert.ErrorContains(t, err, tt.why)
	}
}
