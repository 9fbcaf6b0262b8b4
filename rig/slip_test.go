package rig_test

import (
	"context"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"hilrig/rig"
	"hilrig/rig/board"
	"hilrig/rig/signal"
	"hilrig/rig/simulated"
	"hilrig/rig/trace"
	"hilrig/stimulus"
)

// Longitudinal slip by ISO 8855 and SAE J670, from memory: the rate of a wheel less that at which it would roll freely, as a share
// of that. Backwards a wheel that spins turns the faster backwards.
func TestWheelsSlipAsTheProgramSays(t *testing.T) {
	for _, speed := range []float64{4, -4} {
		p := stimulus.Held(stimulus.Values{Speed: speed, YawRate: 0.8, Steer: 5 * degree, Throttle: 0.3}, 200*signal.Millisecond)
		slip := [4]float64{0, 0.25, -0.2, -1}
		for w, x := range slip {
			if x != 0 {
				p.Slip[w] = new(stimulus.Track)
				p.Slip[w].Hold(0, 0)
				p.Slip[w].Hold(100*signal.Millisecond, x)
			}
		}
		p.Wheels[1] = new(stimulus.Track)
		p.Wheels[1].Add(0, stimulus.Absent{})
		p.Wheels[1].Hold(150*signal.Millisecond, 7)

		w := wiring()
		b, err := board.NewNull(board.SilentBoard, board.Pulses{}, w.Layout(), 1)
		require.NoError(t, err)
		bench, err := simulated.New(simulated.Settings{Layout: w.Layout(), Board: b})
		require.NoError(t, err)
		defer bench.Close()
		r, err := rig.New(bench, rig.Settings{Wiring: w, Car: car(), Seed: 1})
		require.NoError(t, err)
		var tr trace.Trace
		require.NoError(t, r.Play(context.Background(), p, &tr))

		free := car().WheelRates(speed, 0.8, 5*degree)
		rate := func(wheel int, at signal.Time) float64 {
			return tr.Column[int(trace.WheelFrontLeft)+wheel][int(at/tr.Tick)]
		}
		for wheel, x := range slip {
			assert.InDelta(t, free[wheel], rate(wheel, 50*signal.Millisecond), 1e-12)
			assert.InDelta(t, free[wheel]*(1+x), rate(wheel, 130*signal.Millisecond), 1e-12, "wheel %d at %v m/s", wheel, speed)
		}
		assert.Equal(t, 7.0, rate(1, 170*signal.Millisecond), "a rate of its own goes before a slip")
	}
}
