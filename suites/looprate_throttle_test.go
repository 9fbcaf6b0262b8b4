package suites_test

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"hilrig/rig/benchtest/drawn"
	"hilrig/rig/board"
	"hilrig/rig/signal"
	"hilrig/suites"
	"hilrig/suites/language"
	"hilrig/suites/record"
)

// gathers is a policy whose shift grows with time, so that neither the speed nor the yaw rate shows the turns of the loop at once.
const gathers = "shift_at: {error: 60 deg/s, gain: 50 %, is: 8 %, within: 10 %, grows: integrating, most: 12 %}\n  dead_band: 5 deg/s"

// The demo asks for 200 Hz. A loop that is slower fails, and a receiver that is read in a slower task makes none slow, however
// many turns it leaves out.
func TestTheLoopRateOfAShiftThatGrowsIsToldByTheThrottle(t *testing.T) {
	const us, limit = signal.Microsecond, 5000 * signal.Microsecond
	const saturates = "shift_at: {error: 60 deg/s, gain: 50 %, is: 4 %, within: 10 %, grows: saturating, most: 6 %}"
	coarse := func(b *board.Settings) { b.Step = 0.01 }
	for i, row := range []struct {
		name   string
		policy string
		loop   signal.Time
		every  int // turns from one in which the receiver is read to the next
		yaw    int // the same of the yaw rate
		bench  string
		change func(b *board.Settings)
		want   string
	}{
		{"in time", gathers, limit * 9 / 10, 1, 1, "", nil, record.Pass},
		{"0.3 % below the limit", gathers, 5015 * us, 1, 1, "", nil, record.Fail},
		{"10 % below the limit", gathers, limit * 11 / 10, 1, 1, "", nil, record.Fail},
		{"10 % below the limit, receiver by bus", gathers, limit * 11 / 10, 1, 1, receiverBus, nil, record.Fail},
		{"one frame for each turn", gathers, limit * 8 / 10, 1, 1, "", func(b *board.Settings) { b.Shaping.FramePerLoop = true }, record.Pass},
		{"one frame for each turn, just in time", gathers, limit * 998 / 1000, 1, 1, "", func(b *board.Settings) { b.Shaping.FramePerLoop = true }, record.Pass},
		{"one frame for each turn, too late", gathers, limit * 102 / 100, 1, 1, "", func(b *board.Settings) { b.Shaping.FramePerLoop = true }, record.Undecided},
		{"two frames for each turn", gathers, limit * 14 / 10, 1, 1, "", func(b *board.Settings) { b.OutputPeriod = b.LoopPeriod / 2 }, record.Fail},
		{"two frames for each turn, just in time", gathers, limit * 998 / 1000, 1, 1, "", func(b *board.Settings) { b.OutputPeriod = b.LoopPeriod / 2 }, record.Pass},
		{"each second turn", gathers, limit * 8 / 10, 2, 1, "", nil, record.Undecided},
		{"each fifth turn", gathers, limit * 8 / 10, 5, 1, "", nil, record.Undecided},
		{"each fifth turn, receiver by bus", gathers, limit * 8 / 10, 5, 1, receiverBus, nil, record.Undecided},
		{"quick, but the receiver", gathers, 1100 * us, 7, 1, "", nil, record.Undecided},
		{"commands in coarse steps", gathers, limit * 8 / 10, 2, 1, "", coarse, record.Undecided},
		{"commands in coarse steps, and the receiver often enough", gathers, limit * 4 / 10, 2, 1, "", coarse, record.Pass},
		{"saturating, in time", saturates, limit * 9 / 10, 1, 1, "", nil, record.Pass},
		{"saturating, 10 % below the limit", saturates, limit * 11 / 10, 1, 1, "", nil, record.Fail},
		{"saturating, each third turn", saturates, limit * 8 / 10, 3, 3, "", nil, record.Pass},
	} {
		if !drawn.Row(i, 3) {
			continue
		}
		t.Run(row.name, func(t *testing.T) {
			s := otherWord(t, row.policy, row.bench, "timing")
			b, err := s.OfPolicy()
			require.NoError(t, err)
			b.LoopPeriod, b.Timing.ReceiverEvery, b.Timing.YawEvery = row.loop, row.every, row.yaw
			if row.change != nil {
				row.change(&b)
			}
			s.WithBoard("by the throttle", b)
			check := loopRateOf(t, s, "loop rate by the throttle")
			assert.Equal(t, row.want, check.Verdict, "%s: %s", check.Quantity, check.Why)
		})
	}
}

// loopRateOf plays the one case of a name and returns its check of the loop rate.
func loopRateOf(t *testing.T, s *suites.Setup, only string) record.Check {
	t.Helper()
	result, _ := play(t, s, suites.Options{Only: only})
	var found []record.Check
	for _, suite := range result.Suites {
		for _, c := range suite.Cases {
			for _, check := range c.Checks {
				if check.Name == "loop rate" {
					found = append(found, check)
				}
			}
		}
	}
	require.Len(t, found, 1)
	return found[0]
}

// Firmware that sends one motor frame for each turn leaves answers to wait for nothing but the frame, so that the turns by
// themselves do not show; that they come as often as the frames does. So it is with firmware whose commands go in steps as coarse as
// what the speed moves.
func TestTurnsThatComeWithTheFramesAreToldByThese(t *testing.T) {
	for loop, want := range map[signal.Time]string{4990 * signal.Microsecond: record.Pass, 5100 * signal.Microsecond: record.Undecided} {
		s := otherWord(t, "", "", "grid")
		b, err := s.OfPolicy()
		require.NoError(t, err)
		b.LoopPeriod, b.Shaping.FramePerLoop, b.Step = loop, true, 0.01
		s.WithBoard("with its frames", b)
		check := loopRateOf(t, s, "loop rate at speed")
		assert.Equal(t, want, check.Verdict, "%s: %s", check.Quantity, check.Why)
		t.Log(check.Quantity, check.Why)
	}
}

// A motor at its cap follows the speed by another line than below it, and turns that are read from that need not be the
// loop's: with room a slow loop fails, and without it is left open, with the remedy.
func TestALoopIsNotFailedByASpeedThatTakesMotorsToTheirLimits(t *testing.T) {
	const suite = `suite: loop
about: A loop by the speed, with room for the shift and without.
cases:
  - case: swings
    baseline: none
    each: {throttle: [40 %, 88 %]}
    steer: 12 deg
    yaw_rate: 5 deg/s
    gain: 30 %
    hold: {settle: 300 ms, speed: {chirp: 2 m/s, about: 5 m/s, from: 4.2 Hz, to: 5.8 Hz, over: 5.3 s}, observe: 5 s}
    expect:
      - {policy: loop_rate}
`
	f := bramble("built-in:slow_loop")
	f.Suites = []language.Source{{Path: "loop.yaml", Data: []byte(suite)}}
	r, _ := play(t, load(t, f), suites.Options{})
	room, none := r.Suites[0].Cases[0], r.Suites[0].Cases[1]
	assert.Equal(t, record.Fail, room.Checks[0].Verdict, room.Checks[0].Why)
	assert.Equal(t, record.Undecided, none.Checks[0].Verdict, none.Checks[0].Why)
	assert.Contains(t, none.Checks[0].Why, "choose a throttle that leaves room for the shift")
}
