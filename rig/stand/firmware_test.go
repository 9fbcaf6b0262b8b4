package stand

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"hilrig/rig/signal"
)

// word plays the 16 bits of a frame: each begins high for three eighths of its time for 0, and six
// eighths for 1.
func word(r *receiver, bits uint16, at, bit signal.Time, inverted bool) signal.Time {
	for i := range 16 {
		high := bit * 3 / 8
		if bits>>(15-i)&1 == 1 {
			high = bit * 3 / 4
		}
		r.edge(!inverted, at)
		r.edge(inverted, at+high)
		at += bit
	}
	r.look(at + bit)
	return at
}

// The frames' words: a README that publishes DShot with the example 1046 (READ); the others by a second
// implementation of the checksum (CALC).
func TestFrames(t *testing.T) {
	for _, tt := range []struct {
		name     string
		throttle Throttle
		word     uint16
		want     float64
		ok       bool
	}{
		{"the published one", Throttle{}, 0x82C6, 998. / 1999, true},
		{"with telemetry asked", Throttle{}, 0x82D7, 998. / 1999, true},
		{"stop", Throttle{}, 0x0000, 0, true},
		{"least", Throttle{}, 0x0606, 0, true},
		{"full", Throttle{}, 0xFFEE, 1, true},
		{"inverted", Throttle{Inverted: true}, 0x82C9, 998. / 1999, true},
		{"the checksum of the other kind", Throttle{Inverted: true}, 0x82C6, 0, false},
		{"a wrong bit", Throttle{}, 0x82C7, 0, false},
		{"full of the lower sense", Throttle{TwoDirection: true}, 0x82E4, -1, true},
		{"the lower sense is ahead", Throttle{TwoDirection: true, ForwardLower: true}, 0x7D0A, 952. / 999, true},
		{"full of the upper sense", Throttle{TwoDirection: true}, 0xFFEE, 1, true},
		{"full of the upper sense, backwards", Throttle{TwoDirection: true, ForwardLower: true}, 0xFFEE, -1, true},
	} {
		for format, bit := range map[Format]signal.Time{DShot150: 6667, DShot300: 3333, DShot600: 1667} {
			tt.throttle.Format = format
			r := newReceiver(tt.throttle, 0)
			word(&r, tt.word, signal.Millisecond, bit, tt.throttle.Inverted)
			assert.Equal(t, tt.ok, r.fresh, tt.name)
			assert.InDelta(t, tt.want, r.command, 1e-12, tt.name)
		}
	}
}

func TestFramesThatAreNone(t *testing.T) {
	r := newReceiver(Throttle{Format: DShot300}, 0)
	at := word(&r, 0x82C6, signal.Millisecond, 3333, false)
	require.True(t, r.fresh)
	r.fresh = false
	at = word(&r, 0x82C6, at+signal.Millisecond, 1667, false) // of another rate
	assert.False(t, r.fresh)
	at = word(&r, 0x82C6, at+signal.Millisecond, 6667, false)
	assert.False(t, r.fresh)
	// 1 to 47 are commands to the controller: 5 is 0x0A, its checksum A (CALC).
	at = word(&r, 0x00AA, at+signal.Millisecond, 3333, false)
	assert.False(t, r.fresh)
	r.edge(true, at+signal.Millisecond) // a short one
	r.edge(false, at+signal.Millisecond+1250)
	r.look(at + 2*signal.Millisecond)
	assert.False(t, r.fresh)
	word(&r, 0x82C6, at+3*signal.Millisecond, 3333, false)
	assert.True(t, r.fresh, "it goes on")
}

// 1000 to 2000 us and 125 to 250 us (READ: documents of two autopilots).
func TestPulses(t *testing.T) {
	for _, tt := range []struct {
		throttle Throttle
		width    signal.Time
		want     float64
		ok       bool
	}{
		{Throttle{}, 1500_000, 0.5, true},
		{Throttle{}, 1000_000, 0, true},
		{Throttle{}, 990_000, 0, true},
		{Throttle{}, 2010_000, 1, true},
		{Throttle{}, 700_000, 0, false},
		{Throttle{}, 2300_000, 0, false},
		{Throttle{Inverted: true}, 1250_000, 0.25, true},
		{Throttle{Format: OneShot125}, 187_500, 0.5, true},
		{Throttle{WithNeutral: true}, 1250_000, -0.5, true},
		{Throttle{WithNeutral: true}, 1750_000, 0.5, true},
		{Throttle{Format: OneShot125, WithNeutral: true}, 125_000, -1, true},
		{Throttle{Idle: 2000_000, Full: 1000_000}, 1250_000, 0.75, true},
	} {
		s := Settings{Throttle: tt.throttle}.withDefaults()
		r := newReceiver(s.Throttle, 0)
		r.edge(!tt.throttle.Inverted, signal.Millisecond)
		r.edge(tt.throttle.Inverted, signal.Millisecond+tt.width)
		assert.Equal(t, tt.ok, r.fresh, "%v", tt)
		assert.InDelta(t, tt.want, r.command, 1e-9, "%v", tt)
	}
}

func TestItDrivesOnlyOnceArmed(t *testing.T) {
	w := newWorld(t, "linear").hold(0.3, signal.Second)
	assert.Zero(t, w.stand.firmware.duty, "never idle")
	w.hold(0, 200*signal.Millisecond).hold(0.3, 100*signal.Millisecond)
	assert.Zero(t, w.stand.firmware.duty, "idle for too short")
	w.hold(0, 400*signal.Millisecond).hold(0.3, 100*signal.Millisecond)
	assert.InDelta(t, 0.3, w.stand.firmware.duty, 1e-6)
}

// Without frames it goes on for 100 ms; then it is off until idle comes.
func TestItFailsSafe(t *testing.T) {
	w := newWorld(t, "linear").arm().hold(0.3, 500*signal.Millisecond)
	w.run(95 * signal.Millisecond)
	assert.InDelta(t, 0.3, w.stand.firmware.duty, 1e-6)
	w.run(10 * signal.Millisecond)
	assert.Zero(t, w.stand.firmware.duty)
	w.hold(0.3, 200*signal.Millisecond)
	assert.Zero(t, w.stand.firmware.duty)
	w.hold(0, 10*signal.Millisecond).hold(0.3, 100*signal.Millisecond)
	assert.InDelta(t, 0.3, w.stand.firmware.duty, 1e-6)
}

// Duty follows its command by a first order: after the lag 1 - 1/e of the step is done.
func TestTheAnswerLags(t *testing.T) {
	esc, _ := ESCNamed("linear")
	esc.Lag = 50 * signal.Millisecond
	w := newWorldOf(t, esc).arm().hold(0.2, 500*signal.Millisecond)
	w.hold(0.8, 2*frame).hold(0.8, 50*signal.Millisecond)
	// The pulse of 0.8 ends 1.8 ms after it began: the answer is 3 ms from the lag's end.
	near(t, 0.2+0.6*(1-1/2.718281828*0.9418), w.stand.firmware.duty, 0.01, "after the lag")
}

func TestAWarmControllerGivesLess(t *testing.T) {
	locked := func(s *Settings) { s.Held = Held{Kind: Locked} }
	w := newWorld(t, "drifting", locked).arm().hold(0.5, 2*signal.Second)
	first := w.stand.firmware.duty
	w.hold(0.5, 100*signal.Second)
	assert.Less(t, w.stand.firmware.duty, 0.98*first)
	w = newWorld(t, "linear", locked).arm().hold(0.5, 20*signal.Second)
	assert.InDelta(t, 0.5, w.stand.firmware.duty, 1e-9)
}

func TestOneThatReversesAtIdleTurnsBackwards(t *testing.T) {
	w := newWorld(t, "reversing_at_idle").arm().hold(0, 2*signal.Second)
	assert.Negative(t, w.stand.shaft.speed)
	assert.Negative(t, counts(w.out, w.line(signal.ShaftA), w.line(signal.ShaftB)))
}
