package suites

import (
	"context"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"hilrig/rig/benchtest/drawn"
	"hilrig/rig/board"
	"hilrig/rig/decode"
	"hilrig/rig/signal"
	"hilrig/rig/trace"
	"hilrig/stimulus/wire"
)

// digitalBoard puts the built-in board on the setup's bench, which then reads
// DShot300 frames at that rate.
func digitalBoard(s *Setup, loop, output signal.Time) {
	for i := range s.wiring.Motors {
		s.wiring.Motors[i] = decode.Motor{Kind: decode.DShot300}
	}
	b := board.Bramble()
	b.LoopPeriod, b.OutputPeriod = loop, output
	b.Output = outputOf(&s.wiring)
	s.WithBoard("digital", b)
}

// The truth is what the board was made with: its loop's period, and the longest
// time from a change to the end of a frame.
func TestRateOfBoardsOfKnownRate(t *testing.T) {
	const us = signal.Microsecond
	for i, test := range []struct {
		name         string
		loop, output signal.Time
		digital      bool
	}{
		{"333 Hz with DShot300", 3000 * us, 500 * us, true},
		{"333 Hz with DShot300 and a slower output", 3000 * us, 1100 * us, true},
		{"100 Hz with servo pulses", 10000 * us, 3000 * us, false},
		{"100 Hz, the output as slow", 10000 * us, 9700 * us, false},
		{"250 Hz with servo pulses", 4000 * us, 3000 * us, false},
		{"1 kHz with DShot300", 1000 * us, 300 * us, true},
	} {
		t.Run(test.name, func(t *testing.T) {
			if !drawn.Row(i, 6) {
				t.Skip("another is drawn")
			}
			s := load(t, "")
			if test.digital {
				digitalBoard(s, test.loop, test.output)
			} else {
				b := board.Bramble()
				b.LoopPeriod, b.OutputPeriod = test.loop, test.output
				s.WithBoard("servo", b)
			}
			r, err := s.Rate(context.Background())
			require.NoError(t, err)
			truth := 1 / test.loop.Seconds()
			assert.Empty(t, r.Loop.Why)
			assert.Empty(t, r.Response.Why)
			assert.True(t, r.Loop.Within.Low <= truth && truth <= r.Loop.Within.High, "%v", r.Loop)
			assert.Less(t, r.Loop.Within.High-r.Loop.Within.Low, 0.02*truth)
			most := (test.loop + test.output + 2*signal.Millisecond).Seconds()
			last := slowestAnswer(t, r)
			assert.LessOrEqual(t, last, most)
			assert.GreaterOrEqual(t, last, 0.9*test.loop.Seconds())
			assert.GreaterOrEqual(t, r.Response.Changes, 200)
			for _, o := range r.Outputs {
				assert.InEpsilon(t, 1/test.output.Seconds(), o.Rate, 1e-6)
				assert.Less(t, o.Jitter, 1e-6)
				require.NotEmpty(t, o.Guesses)
				assert.Equal(t, s.wiring.Motors[o.Wheel].Kind, o.Guesses[0].Kind)
			}
			assert.Less(t, r.Driving, 30*signal.Second)
		})
	}
}

func TestRateOfABoardThatControlsNothingIsUndecided(t *testing.T) {
	for _, board := range []string{"null:silent", "null:constant_idle", "null:equal_torque", "null:random_commands"} {
		t.Run(board, func(t *testing.T) {
			r, err := load(t, board).Rate(context.Background())
			require.NoError(t, err)
			assert.False(t, r.Decided())
			assert.NotEmpty(t, r.Loop.Why)
			assert.Empty(t, r.Loop.Budget.Sources)
		})
	}
}

func TestRateStopsWhenItIsCancelled(t *testing.T) {
	ctx, stop := context.WithCancel(context.Background())
	stop()
	_, err := load(t, "").Rate(ctx)
	assert.ErrorIs(t, err, context.Canceled)
}

// Where the yaw rate goes out among packed bits, it is what the trials change all the same.
// What takes long says what it is about, each thing before it is played.
func TestRateSaysWhatIsPlayed(t *testing.T) {
	ctx, stop := context.WithCancel(t.Context())
	var said []string
	_, err := load(t, "").RateSaying(ctx, func(words string) {
		if said = append(said, words); len(said) == 4 {
			stop()
		}
	})
	require.ErrorIs(t, err, context.Canceled)
	assert.Equal(t, []string{
		"the board powers up", "play 1: how often inputs are read, 2 s of driving",
		"play 2: when answers end, 3 s of driving", "play 3: how soon motors answer, 11 s of driving",
	}, said)
}

func TestRateChangesAPackedYawRate(t *testing.T) {
	s := load(t, "")
	yaw := &s.wiring.Frames[0].Fields[2]
	require.Equal(t, "yaw_rate", yaw.Channel)
	part := *yaw
	part.Size, part.Width = 0, 8*yaw.Size
	*yaw = wire.Field{Kind: wire.Bits, Parts: []wire.Field{part}}
	r, err := s.Rate(context.Background())
	require.NoError(t, err)
	assert.True(t, r.Decided(), "the board reads the same bytes")
	assert.Equal(t, trace.YawRate, r.Response.Channel)
}

// What goes out on a port that is not read back cannot be timed: neither what is changed
// first, nor the throttle that stands in for it.
func TestRateNeedsPortsThatAreReadBack(t *testing.T) {
	s := load(t, "null:equal_torque")
	require.NoError(t, s.Ratable())
	s.Bench.Kind = "raspberry"
	err := s.Ratable()
	require.ErrorContains(t, err, "trials of yaw_rate go out on port yaw_serial")
	_, refused := s.Rate(context.Background())
	assert.Equal(t, err, refused)

	s.Bench.Pins = map[string]int{"yaw_serial": 20}
	r, err := s.Rate(context.Background())
	require.NoError(t, err)
	require.Equal(t, trace.Throttle, r.Response.Channel, "no motor follows the yaw rate")

	s.Bench.Wiring.Bus.Port = "receiver_bus"
	r, err = s.Rate(context.Background())
	require.NoError(t, err)
	assert.Contains(t, r.Response.Why, "no motor moves with yaw_rate, and trials of throttle go out on port receiver_bus, whose wire is not read back")
}

// Firmware whose one timer gives loop and motor frames is told its own rate, whatever phase they have.
func TestRateOfBoardsWithOneClock(t *testing.T) {
	if !drawn.Row(0, 3) {
		t.Skip("another is drawn")
	}
	const us = signal.Microsecond
	played, decided := 0, 0
	for i, period := range [][2]signal.Time{{4000 * us, 10000 * us}, {4000 * us, 6000 * us}, {2500 * us, 4000 * us}} {
		for seed := range uint64(oneClockSeeds) {
			if i > 0 && oneClockSeeds == 1 {
				continue // with the tag full
			}
			s := load(t, "")
			s.Seed = seed + 2
			b := board.Bramble()
			b.LoopPeriod, b.OutputPeriod = period[0], period[1]
			s.WithBoard("one clock", b)
			r, err := s.Rate(context.Background())
			require.NoError(t, err)
			truth := 1 / period[0].Seconds()
			if played++; r.Loop.Why == "" {
				decided++
				assert.True(t, r.Loop.Within.Low <= truth && truth <= r.Loop.Within.High, "%v, seed %d: %+v", period, s.Seed, r.Loop)
			}
			t.Logf("%v, seed %d: %.2f Hz %s", period, s.Seed, r.Loop.Rate, r.Loop.Why)
		}
	}
	assert.GreaterOrEqual(t, 10*decided, 9*played, "%d of %d decided", decided, played)
}
