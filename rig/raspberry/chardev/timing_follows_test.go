package chardev

import (
	"testing"

	"github.com/stretchr/testify/assert"

	"hilrig/rig/decode"
	"hilrig/rig/raspberry/pinout"
	"hilrig/rig/raspberry/realtime"
	"hilrig/rig/raspberry/timing"
	"hilrig/rig/signal"
)

// spans is n spans of about t.
func spans(t signal.Time, n uint64) (h realtime.Histogram) {
	h.AddMany(t, n)
	return h
}

// What stamps mean for each format. That 3 us are 2.4 % of the 125 us of OneShot125 and
// 0.3 % of a servo pulse's 1000 us is CALC.
func TestWhatFollowsFromStamps(t *testing.T) {
	over := func(change func(j *JumperMeasurement)) *Measurement {
		j := &JumperMeasurement{Widths: spans(900, 100_000), Heard: 100_000, Highest: 50e3}
		change(j)
		return &Measurement{Jumper: j}
	}
	yes, marginal, no := pinout.Yes, pinout.Marginal, pinout.No
	tests := []struct {
		name           string
		measured       *Measurement
		servo, oneShot pinout.Support
		why            string // of servo pulses
	}{
		{"no jumper", &Measurement{}, yes, marginal, "NOT MEASURED without --jumper; with stamps 3 us apart, as others saw, its width is known to 0.30 % of its range"},
		{"fine stamps are still reckoned with as 3 us", over(func(*JumperMeasurement) {}), yes, marginal, "known to 0.30 % of its range; 0 % of the pulses are invalidated"},
		{"stamps farther apart than is reckoned with", over(func(j *JumperMeasurement) { j.Widths = spans(6000, 100_000) }), marginal, no, "off by up to 6 us, and a bench reckons with 3 us"},
		{"stamps far apart", over(func(j *JumperMeasurement) { j.Widths = spans(30*signal.Microsecond, 100_000) }), no, no, "known to 3.0 % of its range"},
		{"some lost", over(func(j *JumperMeasurement) { j.Lost = 2000 }), marginal, marginal, "3.9 % of the pulses are invalidated"},
		{"many lost", over(func(j *JumperMeasurement) { j.Turned = 20_000 }), no, no, "40 % of the pulses are invalidated"},
		{"slow", over(func(j *JumperMeasurement) { j.Highest = 2000 }), marginal, no, "without loss up to 2000 a second, and four motors send up to 3200"},
		{"too slow to have pulses", over(func(j *JumperMeasurement) { *j = JumperMeasurement{Stamps: spans(900, 5), Heard: 5} }), yes, marginal, "NOT MEASURED: no two edges followed"},
		{"nothing came over", over(func(j *JumperMeasurement) { *j = JumperMeasurement{Lost: 1000} }), no, no, "no edge came over"},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			got := tt.measured.Motors()
			assert.Len(t, got, int(decode.MotorKinds))
			for i, f := range got {
				assert.Equal(t, [...]pinout.Support{tt.servo, tt.oneShot, no, no, no}[i], f.Support, "%v: %s", f.Kind, f.Why)
				assert.NotEmpty(t, f.Why)
			}
			assert.Contains(t, got[decode.ServoPulse].Why, tt.why)
			assert.Contains(t, got[decode.DShot300].Why, "shorter than the kernel's stamps are uncertain")
		})
	}
	assert.InDelta(t, 0.024, (&Measurement{}).Motors()[decode.OneShot125].Uncertainty, 1e-9)
}

func TestEncodersAreLimitedByCallsAndLateness(t *testing.T) {
	tests := []struct {
		name   string
		change func(k *Measurement)
		edges  float64
		why    string
	}{
		{"all well", func(*Measurement) {}, 100e3, "as far as it was tried"},
		{"skipped", func(k *Measurement) { k.Played, k.Skipped = 600_000, 400_000 }, 60e3, "400000 edges were skipped"},
		{"slow calls", func(k *Measurement) { k.Calls = spans(10_000, 1_000_000) }, 50e3, "every edge takes a call of the kernel, half of them longer than 10 us"},
		{"late", func(k *Measurement) { k.Late = spans(100_000, 1_000_000) }, 20e3, "one edge in a hundred is later than 100 us"},
		{"none", func(k *Measurement) { k.Played = 0 }, 0, "no edges were played"},
		{"more over a jumper", func(k *Measurement) {
			k.Jumper = &JumperMeasurement{Rungs: []Rung{{Rate: 50e3, Late: 4000}, {Rate: 200e3, Late: 5000, Lost: 3}, {Rate: 500e3, Late: 1000, Behind: true}}}
		}, 200e3, "as far as it was tried over the jumper"},
		{"later over a jumper", func(k *Measurement) {
			k.Jumper = &JumperMeasurement{Rungs: []Rung{{Rate: 200e3, Late: 16_000}}}
		}, 125e3, "at 200000 a second one edge in a hundred is later than 16 us"},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			k := &Measurement{Measurement: timing.Measurement{For: 10 * signal.Second, Planned: 1_000_000, Played: 1_000_000, Late: spans(5000, 1_000_000)}, Calls: spans(2000, 1_000_000)}
			tt.change(k)
			f := k.Encoders()
			assert.InEpsilon(t, 1+tt.edges, 1+f.Edges, 1e-6)
			assert.Equal(t, int(tt.edges/1440), f.Lines)
			assert.Contains(t, f.Why, tt.why)
		})
	}
}
