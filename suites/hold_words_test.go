package suites

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"hilrig/rig/signal"
)

func TestHoldWords(t *testing.T) {
	left := Hold{Speed: 4, Throttle: 0.4, Gain: 0.5, YawRate: 1, OfDemand: true, Observe: 400 * signal.Millisecond}
	for _, test := range []struct {
		name string
		args []string
		want func(h *Hold)
	}{
		{"nothing", nil, func(*Hold) {}},
		{"share of the demand", []string{"yaw=70%"}, func(h *Hold) { h.YawRate = 0.7 }},
		{"absolute", []string{"yaw=-180deg/s"}, func(h *Hold) { h.YawRate, h.OfDemand = -math.Pi, false }},
		{"with a blank", []string{"yaw=70 %"}, func(h *Hold) { h.YawRate = 0.7 }},
		{"all", []string{"speed=36km/h", "steer=-0.1rad", "throttle=25%", "gain=0%", "for=1s"}, func(h *Hold) {
			h.Speed, h.Steer, h.Throttle, h.Gain, h.Observe = 10, -0.1, 0.25, 0, signal.Second
		}},
	} {
		t.Run(test.name, func(t *testing.T) {
			want := left
			test.want(&want)
			got, err := HoldOf(test.args)
			require.NoError(t, err)
			assert.InDelta(t, want.Speed, got.Speed, 1e-12)
			assert.InDelta(t, want.YawRate, got.YawRate, 1e-12)
			want.Speed, want.YawRate = got.Speed, got.YawRate
			assert.Equal(t, want, got)
		})
	}
}

func FuzzHoldWords(f *testing.F) {
	f.Add("steer=8deg")
	f.Add("yaw=%")
	f.Add("=")
	f.Add("for=1e308s")
	f.Fuzz(func(t *testing.T, arg string) {
		h, err := HoldOf([]string{arg})
		if err != nil {
			return
		}
		for _, x := range []float64{h.Speed, h.Steer, h.YawRate, h.Throttle, h.Gain} {
			if math.IsNaN(x) || math.Abs(x) > 50 {
				t.Fatalf("%q holds %v", arg, x)
			}
		}
	})
}
