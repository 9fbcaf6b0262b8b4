package preflight

import (
	"testing"

	"github.com/stretchr/testify/assert"

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
			found := judgedOnPinBank(measured(tt.gap, tt.played), tt.kind, tt.edges)
			sound(t, found)
			assert.Equal(t, tt.wrong, grades(found, Wrong))
			assert.Equal(t, tt.warning, grades(found, Warning))
		})
	}
	t.Run("denied", func(t *testing.T) {
		k := measured(100, 240e3)
		k.Denied = []string{"real-time priority 80: operation not permitted; give the program CAP_SYS_NICE"}
		found := judgedOnPinBank(k, decode.ServoPulse, 100e3)
		assert.Equal(t, Result{"scheduling", Wrong, "real-time priority 80: operation not permitted", "give the program CAP_SYS_NICE"}, found[0])
	})
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
			found := judgedByDevice(k, tt.kind, tt.edges)
			sound(t, found)
			assert.Equal(t, tt.wrong, grades(found, Wrong))
			assert.Equal(t, tt.warning, grades(found, Warning))
		})
	}
}
