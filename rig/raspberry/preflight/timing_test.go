package preflight

import (
	"context"
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"hilrig/rig/decode"
	"hilrig/rig/raspberry/chardev"
	"hilrig/rig/raspberry/realtime"
	"hilrig/rig/raspberry/registers"
	"hilrig/rig/raspberry/timing"
	"hilrig/rig/signal"
)

// Two seconds of reads at a steady gap, with edges that were late by one gap: what a
// reads of 0.1 us, as a Pi 3 has them, and slower ones mean for each bench.
func TestTimingIsHeldAgainstTheBench(t *testing.T) {
	measured := func(gap signal.Time, edges uint64) *registers.Measurement {
		k := &registers.Measurement{Measurement: timing.Measurement{For: 2 * signal.Second, Planned: edges, Played: edges}}
		for range uint64(2*signal.Second) / uint64(gap) {
			k.Gaps.AddMany(gap, 1)
		}
		for range edges {
			k.Late.AddMany(gap, 1)
		}
		k.Reads = k.Gaps.Count
		return k
	}
	tests := []struct {
		name           string
		gap            signal.Time
		kind           decode.MotorKind
		edges          float64
		played         uint64
		wrong, warning string
	}{
		{"fast", 100, decode.DShot600, 100e3, 240e3, "", ""},
		{"marginal", 175, decode.DShot600, 100e3, 240e3, "", "capture dshot600"},
		{"too slow for the format", 1000, decode.DShot600, 100e3, 240e3, "capture dshot600", ""},
		{"slow does for pulses", 1000, decode.ServoPulse, 100e3, 240e3, "", ""},
		{"half of the edges", 100, decode.ServoPulse, 400e3, 480e3, "", "play wheel sensors"},
		{"few of the edges", 100, decode.ServoPulse, 1e6, 240e3, "play wheel sensors", ""},
		{"all of it too slow", 40 * signal.Microsecond, decode.ServoPulse, 100e3, 240e3, "capture servo_pulse play wheel sensors", ""},
		{"sensors without edges", 100, decode.ServoPulse, 0, 0, "", ""},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			found := judgedOnPinBank(measured(tt.gap, tt.played), decode.Motor{Kind: tt.kind}, tt.edges)
			sound(t, found)
			assert.Equal(t, tt.wrong, grades(found, Wrong))
			assert.Equal(t, tt.warning, grades(found, Warning))
		})
	}
	t.Run("denied", func(t *testing.T) {
		k := measured(100, 240e3)
		k.Denied = []string{"real-time priority 80: operation not permitted; give the program CAP_SYS_NICE"}
		found := judgedOnPinBank(k, decode.Motor{}, 100e3)
		assert.Equal(t, Result{"scheduling", Wrong, "real-time priority 80: operation not permitted", "give the program CAP_SYS_NICE"}, found[0])
	})
}

// ticked is a Pi 4 whose loop turns in 230 ns as reckoned, its kernel's tick coming so often a second and taking
// 2 to 5 us, as it plays four encoders of 1024 lines at 90 turns a second: a trial on the loop's own clock.
func ticked(t *testing.T, hz int64) *registers.Measurement {
	const length = 300 * signal.Millisecond
	turns := &registers.Turns{Clock: new(realtime.Manual), Turn: 230}
	random := rand.New(rand.NewPCG(1, uint64(hz)))
	for at := signal.Second / signal.Time(hz); at < length+10*signal.Millisecond; at += signal.Second / signal.Time(hz) {
		turns.Stalls = append(turns.Stalls, registers.Stall{At: at, For: 2000 + signal.Time(random.Int64N(3000))})
	}
	k, err := registers.TimingTrial{PinBank: &registers.Memory{}, Time: turns, For: length, Edges: 1.47e6}.Run(context.Background())
	require.NoError(t, err)
	return k
}

// The kernel's tick neither tells how fine a loop samples nor keeps a good Pi from being ready.
func TestAKernelsTickLeavesAPiReady(t *testing.T) {
	for _, hz := range []int64{250, 400, 1000} {
		k := ticked(t, hz)
		for kind := range decode.DShot600 {
			found := judgedOnPinBank(k, decode.Motor{Kind: kind}, 1.2e6)
			assert.Empty(t, grades(found, Wrong)+grades(found, Warning), "%d Hz, %v: %+v", hz, kind, found)
		}
		// The read is reckoned as the whole turn here: a Pi's is some six tenths of it.
		m := decode.Motor{Kind: decode.DShot600, DShot: decode.DShot{Tolerance: 0.02}}
		assert.Empty(t, grades(judgedOnPinBank(k, m, 1.2e6), Wrong), "%d Hz", hz)
		assert.Equal(t, "capture dshot600", grades(judgedOnPinBank(k, decode.Motor{Kind: decode.DShot600}, 1.2e6), Wrong), "%d Hz: bits that may be off by a tenth are too near to each other", hz)
	}
}

// spans is n spans of t.
func spans(t signal.Time, n uint64) (h realtime.Histogram) {
	h.AddMany(t, n)
	return h
}

// Two seconds by the character device, with no jumper: calls of 2 us, and edges that were
// late by so much.
func TestTimingJudgedByTheCharacterDevice(t *testing.T) {
	tests := []struct {
		name           string
		kind           decode.MotorKind
		edges          float64
		late           signal.Time
		wrong, warning string
	}{
		{"well", decode.ServoPulse, 50e3, 20_000, "", ""},
		{"stamps are marginal for short pulses", decode.OneShot125, 50e3, 20_000, "", "capture oneshot125"},
		{"no stamp will do", decode.DShot300, 50e3, 20_000, "capture dshot300", ""},
		{"half of the edges", decode.ServoPulse, 50e3, 50_000, "", "play wheel sensors"},
		{"few of the edges", decode.ServoPulse, 50e3, 200_000, "play wheel sensors", ""},
		{"sensors without edges", decode.ServoPulse, 0, 200_000, "", ""},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			n := uint64(2 * spareEdges * tt.edges)
			k := &chardev.Measurement{Measurement: timing.Measurement{For: 2 * signal.Second, Planned: n, Played: n, Late: spans(tt.late, n)}, Calls: spans(2000, n)}
			found := judgedByDevice(k, decode.Motor{Kind: tt.kind}, tt.edges)
			sound(t, found)
			assert.Equal(t, tt.wrong, grades(found, Wrong))
			assert.Equal(t, tt.warning, grades(found, Warning))
		})
	}
}
