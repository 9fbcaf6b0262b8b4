package board_test

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"hilrig/rig/board"
	"hilrig/rig/signal"
)

// shaped returns a board under way in a turn to the left in which nothing is shifted, and
// then has half of the yaw rate: at when that was played. Its loop and frames have 4 and 3 ms.
func shaped(t *testing.T, x board.Shaping) (w *world, at signal.Time) {
	w = builtIn(t, func(s *board.Settings) {
		s.Shaping = x
		s.ShiftIs = 0.2
	})
	w.straight(4)
	w.steerTo(8)
	w.throttleTo(0.4)
	demand := 4 * 8.0 / (0.330 + 0.0028*16)
	w.yaw = demand
	w.run(2 * signal.Second)
	w.yaw = demand / 2
	at = w.now
	w.run(signal.Second)
	return w, at
}

// reached returns how long after at a motor's pulses had come so far of their way.
func reached(t *testing.T, w *world, m int, at signal.Time, share float64) float64 {
	var before, after float64
	for _, p := range w.pulses[m] {
		if p.start < at {
			before = p.share()
		}
		after = p.share()
	}
	require.Greater(t, math.Abs(after-before), 0.1, "motor %d does not move", m)
	for _, p := range w.pulses[m] {
		if p.start >= at && (p.share()-before)/(after-before) >= share {
			return (p.start - at).Seconds()
		}
	}
	t.Fatal("never")
	return 0
}

// Exact solutions: of a first-order lag 1-1/e of a step has come after the time constant;
// a slew limit takes the change over its rate. A turn of the loop, a frame and one of the
// sensor are what else passes: 12 ms at most.
func TestShaping(t *testing.T) {
	const e = 1 - 1/math.E
	t.Run("none", func(t *testing.T) {
		w, at := shaped(t, board.Shaping{})
		assert.InDelta(t, 0.006, reached(t, w, rr, at, 0.9), 0.006)
	})
	t.Run("lag of the yaw rate", func(t *testing.T) {
		w, at := shaped(t, board.Shaping{YawLag: 60 * ms})
		assert.InDelta(t, 0.066, reached(t, w, rr, at, e), 0.008)
	})
	t.Run("lag of the commands", func(t *testing.T) {
		w, at := shaped(t, board.Shaping{CommandLag: 60 * ms})
		assert.InDelta(t, 0.066, reached(t, w, rr, at, e), 0.008)
	})
	t.Run("slew", func(t *testing.T) {
		w, at := shaped(t, board.Shaping{Slew: 1})
		shift := math.Abs(w.last()[rr] - 0.4)
		assert.InDelta(t, 0.006+shift/2, reached(t, w, rr, at, 0.5), 0.008)
	})
	t.Run("delay of one motor", func(t *testing.T) {
		w, at := shaped(t, board.Shaping{Delay: [4]signal.Time{rr: 20 * ms}})
		assert.InDelta(t, 0.020, reached(t, w, rr, at, 0.9)-reached(t, w, fl, at, 0.9), 0.003)
	})
	t.Run("one motor at half rate", func(t *testing.T) {
		w, _ := shaped(t, board.Shaping{Every: [4]int{rr: 2}})
		assert.InDelta(t, float64(len(w.pulses[fl]))/2, len(w.pulses[rr]), 1)
	})
	t.Run("a frame for each turn", func(t *testing.T) {
		w, _ := shaped(t, board.Shaping{FramePerLoop: true})
		last := w.pulses[rr][len(w.pulses[rr])-1].start
		assert.Equal(t, 4*ms, last-w.pulses[rr][len(w.pulses[rr])-2].start)
	})
}

func TestShapingOutOfRange(t *testing.T) {
	for name, x := range map[string]board.Shaping{
		"Shaping has lags":    {YawLag: -1},
		"Shaping.Slew":        {Slew: math.NaN()},
		"Shaping.Delay[2]":    {Delay: [4]signal.Time{2: 241 * ms}},
		"Shaping.Every[3]":    {Every: [4]int{3: -1}},
		"lags of 0 s and 2 s": {CommandLag: 2 * signal.Second},
	} {
		s := board.Bramble()
		s.Shaping = x
		_, err := board.NewBuiltIn(s, layout(), 1)
		assert.ErrorContains(t, err, name)
	}
	s := board.Bramble()
	s.LoopPeriod, s.Shaping.FramePerLoop = 2*ms, true
	_, err := board.NewBuiltIn(s, layout(), 1)
	assert.ErrorContains(t, err, "with a frame for each turn")
}
