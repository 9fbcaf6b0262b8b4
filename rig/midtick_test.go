package rig_test

import (
	"context"
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"hilrig/plant"
	"hilrig/rig"
	"hilrig/rig/board"
	"hilrig/rig/signal"
	"hilrig/rig/simulated"
	"hilrig/rig/trace"
	"hilrig/stimulus"
)

// swerve is a sine with dwell at 6 m/s, as quick as a 1:10 car's is to a full-size car's
// 0.7 Hz, after the car was let go. Amplitude: common practice, no source.
func swerve() *stimulus.Program {
	p := stimulus.Held(stimulus.Values{Speed: 6, Gain: 0.5}, 1500*signal.Millisecond)
	p.Steer.Add(250*signal.Millisecond, stimulus.SineWithDwell{Amplitude: 4 * degree, Frequency: 2.2, Dwell: 160 * signal.Millisecond})
	p.Closed, p.Release = true, 100*signal.Millisecond
	return p
}

// What steers the car's model while a tick goes by is what the shape says in the middle of it:
// the yaw rate is that of a model with steps sixteen times as fine. Held from the tick's
// beginning it would be half a tick late, 7e-3 of its peak.
func TestSteeringMovesTheCarWhenItIsDue(t *testing.T) {
	const parts = 16
	lagging := car()
	lagging.Servo = plant.Servo{Lag: 0.02, Rate: 100}
	direct := car()
	direct.Servo = plant.Servo{}
	for _, tt := range []struct {
		name string
		car  plant.Car
	}{{"the wheels follow at once", direct}, {"a servo with a lag", lagging}} {
		t.Run(tt.name, func(t *testing.T) {
			w, p := wiring(), swerve()
			b, err := board.NewNull(board.SilentBoard, board.Pulses{}, w.Layout(), 1)
			require.NoError(t, err)
			bench, err := simulated.New(simulated.Settings{Layout: w.Layout(), Board: b})
			require.NoError(t, err)
			defer bench.Close()
			r, err := rig.New(bench, rig.Settings{Wiring: w, Car: tt.car, Seed: 1})
			require.NoError(t, err)
			var tr trace.Trace
			require.NoError(t, r.Play(context.Background(), p, &tr))

			m, err := plant.New(tt.car)
			require.NoError(t, err)
			m.Reset(plant.State{Vx: 6, Wheel: tt.car.WheelRates(6, 0, 0)})
			peak, off := 0.0, 0.0
			for row := int(p.Release / tr.Tick); row < tr.Rows(); row++ {
				for k := range parts {
					at := signal.Time(row)*tr.Tick + signal.Time(2*k+1)*tr.Tick/(2*parts)
					m.Step(plant.Input{Steer: p.Steer.At(at)}, tr.Tick.Seconds()/parts)
				}
				yaw := m.State().YawRate
				peak = max(peak, math.Abs(yaw))
				off = max(off, math.Abs(tr.Column[trace.YawRate][row]-yaw))
			}
			require.Greater(t, peak, 0.3, "rad/s: the car swerves")
			t.Logf("off by %.2g of the peak, %.3g rad/s", off/peak, peak)
			assert.Less(t, off/peak, 1e-4)
		})
	}
}

// pacer is a board that sends the same pulse every 3 ms to all motors, from a time on a
// longer one.
type pacer struct {
	layout signal.Layout
	full   signal.Time // when the first longer pulse begins
	next   signal.Time
	down   signal.Time // when the pulse that is high ends; 0: none is
}

func (b *pacer) Name() string { return "pacer" }

func (b *pacer) Run(_ []signal.Edge, until signal.Time, out []signal.Edge) ([]signal.Edge, error) {
	for {
		at, level := b.next, true
		if b.down > 0 {
			at, level = b.down, false
		}
		if at > until {
			return out, nil
		}
		for line, spec := range b.layout.Lines {
			if spec.Direction == signal.Capture {
				out = append(out, signal.Edge{At: at, Line: signal.Line(line), Level: level})
			}
		}
		b.down = 0
		if level {
			b.down = at + signal.Millisecond
			if at >= b.full {
				b.down += signal.Millisecond / 2
			}
			b.next += 3 * signal.Millisecond
		}
	}
}

func (b *pacer) Restart(signal.Time) error { return nil }

func (b *pacer) Close() error { return nil }

// The delay that records state holds from the motor's wire to the wheels' wires: a pulse that
// is over by the end of tick n-2 moves the edges of tick n, and none before.
func TestDelayFromTheMotorsWireToTheWheels(t *testing.T) {
	assert.Contains(t, rig.Delay, "two ticks: the edges of tick n are computed during tick n-1 from the commands complete by the end of tick n-2")
	const idleOnly = signal.Second
	wheels := func(phase, full signal.Time) (edges []signal.Edge) {
		w := wiring()
		layout := w.Layout()
		line, ok := layout.Line("rear_left_a")
		require.True(t, ok)
		bench, err := simulated.New(simulated.Settings{Layout: layout, Board: &pacer{layout: layout, full: full, next: phase},
			Tap: func(driven, _ []signal.Edge) {
				for _, e := range driven {
					if e.Line == line {
						edges = append(edges, e)
					}
				}
			}})
		require.NoError(t, err)
		defer bench.Close()
		r, err := rig.New(bench, rig.Settings{Wiring: w, Car: car(), Seed: 1})
		require.NoError(t, err)
		p := stimulus.Held(stimulus.Values{Speed: 20}, 200*signal.Millisecond)
		p.Closed = true
		require.NoError(t, r.Play(context.Background(), p, nil))
		return edges
	}
	for _, us := range []signal.Time{0, 100, 300, 499, 500, 501, 700, 900} {
		phase := 3*signal.Millisecond + us*signal.Microsecond // when the first pulse begins, and every 3 ms one
		full := phase + 96*signal.Millisecond
		complete := full + 3*signal.Millisecond/2
		idle, driven := wheels(phase, idleOnly), wheels(phase, full)
		i := 0
		for i < len(driven) && i < len(idle) && driven[i] == idle[i] {
			i++
		}
		require.Less(t, i, len(driven), "the wheel turns otherwise")
		over := (complete + signal.Millisecond - 1) / signal.Millisecond * signal.Millisecond // the end of tick n-2
		begins := over + signal.Millisecond                                                   // of tick n
		assert.GreaterOrEqual(t, driven[i].At, begins, "edges of tick n-1 are planned already")
		assert.Less(t, driven[i].At, begins+signal.Millisecond, "the edges of tick n are moved")
	}
}
