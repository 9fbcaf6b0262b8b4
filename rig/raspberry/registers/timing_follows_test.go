package registers

import (
	"testing"

	"github.com/stretchr/testify/assert"

	"hilrig/rig/decode"
	"hilrig/rig/raspberry/pinout"
	"hilrig/rig/raspberry/realtime"
	"hilrig/rig/raspberry/timing"
	"hilrig/rig/signal"
)

// evenly is a minute of reads that follow each other at gap, and count long gaps.
func evenly(gap signal.Time, count int, long signal.Time) *Measurement {
	k := &Measurement{Measurement: timing.Measurement{For: 60 * signal.Second}}
	n := uint64(k.For / gap)
	k.Reads = n
	k.Gaps.AddMany(gap, n)
	for range count {
		k.Gaps.Add(long)
	}
	return k
}

// Reads as others have measured them: 0.055 us on a Pi 3 and 0.175 us on a Pi 4
// (rsta2/circle, issues 86 and 140), 1 us on a Pi 5 (jclark/satpulse, pull 457). READ. How
// many samples the shortest pulse of DShot has then is CALC.
func TestWhatFollowsFromReadsAsMeasuredElsewhere(t *testing.T) {
	tests := []struct {
		name    string
		gap     signal.Time
		want    [decode.MotorKinds]pinout.Support
		samples [decode.MotorKinds]float64
	}{
		{"Pi 3", 55, [...]pinout.Support{pinout.Yes, pinout.Yes, pinout.Yes, pinout.Yes, pinout.Yes}, [...]float64{0, 0, 45, 22, 11}},
		{"Pi 4", 175, [...]pinout.Support{pinout.Yes, pinout.Yes, pinout.Yes, pinout.Yes, pinout.Marginal}, [...]float64{0, 0, 14, 7, 3.6}},
		{"Pi 5 by its registers", 1000, [...]pinout.Support{pinout.Yes, pinout.Marginal, pinout.No, pinout.No, pinout.No}, [...]float64{0, 0, 2.5, 1.25, 0.6}},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			for i, f := range evenly(tt.gap, 0, 0).Motors() {
				assert.Equal(t, tt.want[i], f.Support, "%v: %s", f.Kind, f.Why)
				if f.Kind.Digital() {
					assert.InEpsilon(t, tt.samples[i], f.Samples, 0.05, "%v", f.Kind)
				}
				if f.Support != pinout.No {
					assert.Zero(t, f.Out)
				}
			}
		})
	}
}

func TestLongGapsInvalidateCommands(t *testing.T) {
	tests := []struct {
		name  string
		count int
		long  signal.Time
		want  [decode.MotorKinds]pinout.Support
	}{
		{"one of 1 ms", 1, signal.Millisecond, [...]pinout.Support{pinout.Yes, pinout.Yes, pinout.Yes, pinout.Yes, pinout.Yes}},
		{"50 of 50 ms", 50, 50 * signal.Millisecond, [...]pinout.Support{pinout.Marginal, pinout.Marginal, pinout.Marginal, pinout.Marginal, pinout.Marginal}},
		{"500 of 20 ms", 500, 20 * signal.Millisecond, [...]pinout.Support{pinout.No, pinout.No, pinout.No, pinout.No, pinout.No}},
		{"12000 of 15 us", 12_000, 15 * signal.Microsecond, [...]pinout.Support{pinout.Yes, pinout.Yes, pinout.Yes, pinout.Yes, pinout.Yes}},
		{"90000 of 15 us", 90_000, 15 * signal.Microsecond, [...]pinout.Support{pinout.Yes, pinout.Marginal, pinout.Marginal, pinout.Marginal, pinout.Marginal}},
		{"180000 of 5 us", 180_000, 5 * signal.Microsecond, [...]pinout.Support{pinout.Yes, pinout.Marginal, pinout.No, pinout.Marginal, pinout.Marginal}},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			for i, f := range evenly(55, tt.count, tt.long).Motors() {
				assert.Equal(t, tt.want[i], f.Support, "%v: %s", f.Kind, f.Why)
			}
		})
	}
}

// share turns n of a histogram's spans, which were all alike, to ones of t.
func share(h *realtime.Histogram, t signal.Time, n uint64) {
	rest, at := h.Count-n, h.Most
	*h = realtime.Histogram{}
	h.AddMany(at, rest)
	h.AddMany(t, n)
	h.Most = t
}

func TestEncodersAreLimitedByWhatIsSlowest(t *testing.T) {
	measured := func(change func(k *Measurement)) *Measurement {
		k := evenly(50, 0, 0)
		k.Planned, k.Played = 90_000_000, 90_000_000
		k.Late.AddMany(40, k.Played)
		change(k)
		return k
	}
	tests := []struct {
		name   string
		change func(k *Measurement)
		edges  float64
		lines  int
		why    string
	}{
		{"all well", func(*Measurement) {}, 1.5e6, 1041, "as far as it was tried"},
		{"skipped", func(k *Measurement) { k.Played, k.Skipped = 60_000_000, 30_000_000 }, 1e6, 694, "30000000 edges were skipped"},
		{"slow reads", func(k *Measurement) { k.Reads = 60_000_000 }, 5e5, 347, "every edge takes a turn"},
		{"late", func(k *Measurement) { share(&k.Late, 4000, k.Played/90) }, 5e5, 347, "one edge in a hundred is later than 4 us"},
		{"gaps", func(k *Measurement) { share(&k.Gaps, 8000, k.Gaps.Count/90) }, 2.5e5, 173, "one gap in a hundred is longer than 8 us"},
		{"none played", func(k *Measurement) { k.Played = 0 }, 0, 0, "no edges were played"},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			f := measured(tt.change).Encoders()
			assert.InEpsilon(t, 1+tt.edges, 1+f.Edges, 1e-6)
			assert.Equal(t, tt.lines, f.Lines)
			assert.Contains(t, f.Why, tt.why)
		})
	}
}

func TestNothingFollowsFromNothing(t *testing.T) {
	for _, f := range (&Measurement{}).Motors() {
		assert.Equal(t, pinout.No, f.Support)
		assert.NotEmpty(t, f.Why)
	}
	assert.Zero(t, (&Measurement{}).Encoders().Edges)
}
