package board_test

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"hilrig/rig/board"
	"hilrig/rig/signal"
)

// highLines returns a world that has just been cut off within a pulse.
func highLines(t *testing.T, b board.Board) *world {
	w := newWorld(t, b)
	w.throttleTo(0.4)
	w.run(200 * ms)
	w.when(func() bool { return w.high == [4]bool{true, true, true, true} })
	require.Equal(t, [4]bool{true, true, true, true}, w.high)
	return w
}

func TestRestartIsAPowerCycle(t *testing.T) {
	b, err := board.NewBuiltIn(board.Bramble(), layout(), 1)
	require.NoError(t, err)
	equal, err := board.NewNull(board.EqualTorque, board.Pulses{}, layout(), 1)
	require.NoError(t, err)
	for _, b := range []board.Board{b, equal} {
		t.Run(b.Name(), func(t *testing.T) {
			w := highLines(t, b)
			require.NoError(t, w.board.Restart(w.now))
			out, err := w.board.Run(nil, w.now, nil)
			require.NoError(t, err)
			require.Len(t, out, 4, "the pulses are cut short")
			for _, e := range out {
				assert.Equal(t, w.now, e.At)
				assert.False(t, e.Level)
			}
			w.out = out
			w.notePulses()

			w.throttle = 0
			begun := len(w.pulses[fl])
			w.run(50 * ms)
			for _, p := range w.pulses[fl][begun:] {
				assert.Zero(t, p.share(), "the throttle seen before is forgotten")
			}
		})
	}
}

// TestRestartForgetsEveryInput takes one input away at the restart, before
// its failsafe can act: the motors stay at idle all the same.
func TestRestartForgetsEveryInput(t *testing.T) {
	for _, x := range troubles[:7] {
		t.Run(x.name, func(t *testing.T) {
			w := builtIn(t, nil)
			for range 8 { // phases of the timers
				understeer(w)
				x.begin(w)
				require.NoError(t, w.board.Restart(w.now))
				w.step(0)
				begun := len(w.pulses[rr])
				w.run(50 * ms)
				for _, p := range w.pulses[rr][begun:] {
					require.Zero(t, p.share())
				}
				x.end(w)
			}
		})
	}
}

func TestRestartDrawsNewPhases(t *testing.T) {
	w := builtIn(t, nil)
	w.run(9 * ms)
	first := w.pulses[fl][0].start
	require.NoError(t, w.board.Restart(w.now))
	begun := len(w.pulses[fl])
	w.run(9 * ms)
	assert.NotEqual(t, first, w.pulses[fl][begun].start-9*ms)
	assert.NoError(t, w.board.Close())
	assert.NoError(t, w.board.Close())
}

func TestMissingLinesAreNamed(t *testing.T) {
	for i, l := range layout().Lines {
		without := layout()
		without.Lines[i].Name = "elsewhere"
		_, err := board.NewBuiltIn(board.Bramble(), without, 1)
		assert.ErrorContains(t, err, `no line "`+l.Name+`"`)
	}
	turned := layout()
	turned.Lines[0].Direction = signal.Capture
	_, err := board.NewBuiltIn(board.Bramble(), turned, 1)
	assert.ErrorContains(t, err, `line "steer" is a capture line; the board needs a drive line there`)
	_, err = board.NewNull(board.EqualTorque, board.Pulses{}, signal.Layout{}, 1)
	assert.ErrorContains(t, err, `no line "throttle"`)
}

func TestConstantsOutOfRangeAreNamed(t *testing.T) {
	for _, c := range []struct {
		name   string
		change func(s *board.Settings)
	}{
		{"LoopPeriod", func(s *board.Settings) { s.LoopPeriod = 0 }},
		{"OutputPeriod", func(s *board.Settings) { s.OutputPeriod = 2 * ms }},
		{"ClockError", func(s *board.Settings) { s.ClockError = 20000 }},
		{"EncoderLines", func(s *board.Settings) { s.EncoderLines = 0 }},
		{"Wheelbase", func(s *board.Settings) { s.Wheelbase = 0 }},
		{"ShiftError less DeadBand", func(s *board.Settings) { s.DeadBand = 2 }},
		{"Cap", func(s *board.Settings) { s.Cap = 1.1 }},
		{"TurnFrom", func(s *board.Settings) { s.TurnFrom = "gyro" }},
		{"Recovers", func(s *board.Settings) { s.Recovers = "" }},
		{`"rear"`, func(s *board.Settings) { s.Oversteer.Lower = []board.Place{"rear"} }},
	} {
		s := board.Bramble()
		c.change(&s)
		_, err := board.NewBuiltIn(s, layout(), 1)
		assert.ErrorContains(t, err, c.name)
	}
}

func TestInvertedMotorLines(t *testing.T) {
	inverted := layout()
	for i := range inverted.Lines {
		if inverted.Lines[i].Direction == signal.Capture {
			inverted.Lines[i].Idle = true
		}
	}
	b, err := board.NewBuiltIn(board.Bramble(), inverted, 1)
	require.NoError(t, err)
	out, err := b.Run(nil, 5*ms, nil)
	require.NoError(t, err)
	require.GreaterOrEqual(t, len(out), 8)
	for i, e := range out[:8] {
		assert.Equal(t, i >= 4, e.Level, "four fall, four rise")
	}
	assert.Equal(t, ms, out[4].At-out[0].At)
}

func TestNullBoards(t *testing.T) {
	play := func(kind board.Kind, seed uint64) *world {
		b, err := board.NewNull(kind, board.Pulses{}, layout(), seed)
		require.NoError(t, err)
		w := newWorld(t, b)
		assert.Equal(t, string(kind), b.Name())
		understeer := func() { w.straight(4); w.throttleTo(0.4); w.steerTo(8); w.yaw = onDemand - 30 }
		understeer()
		w.run(400 * ms)
		return w
	}
	assert.Zero(t, play(board.SilentBoard, 1).count(0, 400*ms))

	idle := play(board.ConstantIdle, 1)
	assert.Equal(t, [4]float64{}, idle.mean())
	assert.InDelta(t, 4*133, idle.count(0, 400*ms), 4)

	equal := play(board.EqualTorque, 1)
	assert.Equal(t, [4]float64{0.4, 0.4, 0.4, 0.4}, equal.last())
	equal.throttle = 0
	equal.run(120 * ms)
	assert.Equal(t, [4]float64{}, equal.last())

	random, again, other := play(board.RandomCommands, 1), play(board.RandomCommands, 1), play(board.RandomCommands, 2)
	assert.Equal(t, random.pulses, again.pulses)
	assert.NotEqual(t, random.last(), other.last())
	low, high := 1.0, 0.0
	for _, p := range random.pulses[rl] {
		low, high = min(low, p.share()), max(high, p.share())
	}
	assert.Less(t, low, 0.1)
	assert.Greater(t, high, 0.9)
	assert.GreaterOrEqual(t, low, 0.0)
	assert.LessOrEqual(t, high, 1.0)

	_, err := board.NewNull("loud", board.Pulses{}, layout(), 1)
	assert.ErrorContains(t, err, `null board "loud" is unknown`)
}
