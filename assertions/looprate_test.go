package assertions_test

import (
	"context"
	"slices"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"hilrig/assertions"
	"hilrig/assertions/measure"
	"hilrig/plant"
	"hilrig/rig"
	"hilrig/rig/benchtest/drawn"
	controller "hilrig/rig/board"
	"hilrig/rig/decode"
	"hilrig/rig/signal"
	"hilrig/rig/simulated"
	"hilrig/rig/trace"
	"hilrig/stimulus"
	"hilrig/stimulus/wire"
)

// smallCar is a small four-motor car, its numbers invented.
func smallCar() plant.Car {
	return plant.Car{
		Mass: 3.9, YawInertia: 0.065, FrontAxle: 0.165, RearAxle: 0.165, CGHeight: 0.05,
		FrontTrack: 0.3, RearTrack: 0.3, RollShare: 0.5,
		WheelRadius: 0.054, WheelInertia: 2.5e-4,
		Tyre: plant.Tyre{
			LongitudinalB: 8, LongitudinalC: 1.6, LongitudinalE: 0.5,
			LateralB: 7, LateralC: 1.4, LateralE: 0.4,
			LongitudinalMu: 0.75, LateralMu: 0.7, Load: 9.6, LoadSensitivity: 0.05,
		},
		Motor: plant.Motor{StallTorque: 1.2, NoLoadSpeed: 420, TorqueLimit: 0.6, DragBrake: 0.1},
		Servo: plant.Servo{Rate: 8, Lag: 0.02},
	}
}

// smallWiring is that of the built-in board.
func smallWiring() rig.Wiring {
	pulse := wire.Pulse{Frame: 10 * signal.Millisecond, Low: signal.Millisecond, High: 2 * signal.Millisecond, HighValue: 1}
	steer := pulse
	steer.LowValue, steer.HighValue = -30*deg, 30*deg
	w := rig.Wiring{
		Steer: steer, Throttle: pulse, Gain: pulse,
		Ports: []signal.PortSpec{{Name: "yaw_serial", Baud: 115200}},
		Frames: []wire.Frame{{
			Port: "yaw_serial", Period: 5 * signal.Millisecond,
			Fields: []wire.Field{
				{Kind: wire.Constant, Bytes: []byte{0xA5, 0x5A}},
				{Kind: wire.Sequence, Size: 1},
				{Kind: wire.Integer, Size: 2, Signed: true, Channel: "yaw_rate", Scale: deg / 16},
				{Kind: wire.CRC8, Poly: 7, From: 2},
			},
		}},
	}
	for i := range w.Encoders {
		w.Encoders[i] = wire.WheelSensor{Quadrature: wire.Quadrature{Lines: 256}}
		w.Motors[i] = decode.Motor{Servo: decode.Servo{Idle: signal.Millisecond, Full: 2 * signal.Millisecond}}
	}
	return w
}

// plays plays a program to the built-in controller.
func plays(t *testing.T, s controller.Settings, seed uint64, p *stimulus.Program) *trace.Trace {
	w := smallWiring()
	layout := w.Layout()
	b, err := controller.NewBuiltIn(s, layout, seed)
	require.NoError(t, err)
	bench, err := simulated.New(simulated.Settings{Layout: layout, Board: b})
	require.NoError(t, err)
	defer bench.Close()
	r, err := rig.New(bench, rig.Settings{Wiring: w, Car: smallCar(), Seed: seed})
	require.NoError(t, err)
	require.NoError(t, r.Settle(context.Background(), stimulus.Values{}, signal.Second, 50*signal.Millisecond))
	tr := new(trace.Trace)
	require.NoError(t, r.Play(context.Background(), p, tr))
	return tr
}

// turns plays 9 s of a swinging speed to a built-in controller in a turn, and
// returns the evidence of a policy that asks for 200 Hz.
func turns(t *testing.T, s controller.Settings, seed uint64) *assertions.Evidence {
	const start, settle, length = signal.Second, 300 * signal.Millisecond, 9300 * signal.Millisecond
	held := assertions.Step{Name: "swing", Steer: 12 * deg, YawRate: 30 * deg, Speed: 3, Throttle: 0.45, Gain: 1, Moving: true}
	p := stimulus.Held(stimulus.Values{Speed: held.Speed, Steer: held.Steer, YawRate: held.YawRate, Throttle: held.Throttle, Gain: held.Gain}, start+length)
	p.Speed.Add(start, stimulus.Chirp{About: 3, Amplitude: 2, From: 4.2, To: 5.8, Over: length})
	tr := plays(t, s, seed, p)
	held.From, held.To = tr.Start+start+settle, tr.Start+start+length-20*signal.Millisecond
	asks := policy()
	asks.LoopRate = new(200.0)
	return &assertions.Evidence{Trace: tr, Policy: asks, Steps: []assertions.Step{held}, CommandStep: 0.001}
}

func judgeLoop(e *assertions.Evidence) assertions.Result {
	return assertions.Judge(assertions.PolicyBranch{Of: "loop_rate"}, e)[0]
}

// The built-in controller, whose loop is known, through encoder edges and servo
// pulses in steps of 1 us.
func TestLoopRateOfTheBuiltInController(t *testing.T) {
	us := signal.Microsecond
	tests := []struct {
		name         string
		loop, output signal.Time
		change       func(s *controller.Settings)
		want         assertions.Verdict
	}{
		{"demo", 4000 * us, 3000 * us, nil, assertions.Pass},
		{"half the demo's rate", 8000 * us, 3000 * us, nil, assertions.Fail},
		{"near the limit", 4999 * us, 3300 * us, nil, assertions.Undecided},
		{"0.3 % below the limit", 5015 * us, 3300 * us, nil, assertions.Fail},
		{"as slow as its outputs are", 20100 * us, 20000 * us, nil, assertions.Fail},
		{"slow", 25000 * us, 20000 * us, nil, assertions.Fail},
		{"620 Hz", 1610 * us, 3100 * us, nil, assertions.Pass},
		{"500 Hz, slow outputs", 2000 * us, 7300 * us, nil, assertions.Pass},
		{"a fast crystal", 4000 * us, 3000 * us, func(s *controller.Settings) { s.ClockError = 5000 }, assertions.Pass},
		{"a floor in the way", 4000 * us, 3000 * us, func(s *controller.Settings) { s.Floor = 0.3 }, assertions.Pass},
	}
	for i, tt := range tests {
		if testing.Short() && i > 0 || knownLoops != nil && !slices.Contains(knownLoops, tt.name) {
			continue
		}
		t.Run(tt.name, func(t *testing.T) {
			s := controller.Bramble()
			s.LoopPeriod, s.OutputPeriod = tt.loop, tt.output
			s.ClockError = 37
			if tt.change != nil {
				tt.change(&s)
			}
			r := judgeLoop(turns(t, s, uint64(i)))
			rate := 1 / tt.loop.Seconds() * (1 + float64(s.ClockError)*1e-6)
			assert.Equal(t, tt.want, r.Verdict, "%+v", r)
			assert.Equal(t, "Hz", r.Must().Unit)
			assert.LessOrEqual(t, r.Must().Low, rate, "%+v", r)
			assert.GreaterOrEqual(t, r.Must().High, rate, "%+v", r)
			assert.Less(t, r.Must().High-r.Must().Low, 0.02*rate)
		})
	}
}

// Where all frames show the loop at the same point, no multiple of a rate can be
// told from it: enough where the rate is enough, else not shown.
func TestLoopRateOfFramesThatStandStillAgainstTheLoop(t *testing.T) {
	s := controller.Bramble()
	s.LoopPeriod, s.OutputPeriod = 4*signal.Millisecond, 4*signal.Millisecond
	if drawn.Row(0, 2) {
		r := judgeLoop(turns(t, s, 1))
		assert.Equal(t, assertions.Pass, r.Verdict, "%+v", r)
		assert.InDelta(t, 250, r.Must().Estimate, 0.1)
	}
	if !drawn.Row(1, 2) || testing.Short() {
		return
	}
	s.OutputPeriod = 8 * signal.Millisecond
	r := judgeLoop(turns(t, s, 1))
	assert.Equal(t, assertions.Undecided, r.Verdict, "%+v", r)
	assert.Contains(t, r.Why, "at 125 Hz or at a multiple of it, 250 Hz, 375 Hz")
}

// Frames that stand still against the loop are told with the loops that would look the same.
func TestLoopsThatLookTheSameAreNamed(t *testing.T) {
	f := assertions.LoopFound{Updates: measure.Updates{Period: 8e-3, Locked: true}}
	assert.Contains(t, f.StandsStill(), "it runs at 125 Hz or at a multiple of it, 250 Hz, 375 Hz and so on, which all look the same")
}

// A loop that is hardly slower than the steps of the speed, 1 ms, or faster,
// cannot be told from them; that it is fast enough is seen all the same.
func TestLoopRateBeyondWhatIsResolved(t *testing.T) {
	for i, loop := range unresolvedLoops {
		if !drawn.Row(i, 2) {
			continue
		}
		s := controller.Bramble()
		s.LoopPeriod, s.OutputPeriod = loop*signal.Microsecond, 2300*signal.Microsecond
		e := turns(t, s, 1)
		r := judgeLoop(e)
		assert.Equal(t, assertions.Pass, r.Verdict, "%+v", r)
		assert.LessOrEqual(t, r.Must().Low, 1e6/float64(loop))
		assert.GreaterOrEqual(t, r.Must().High, 1e6/float64(loop))
		e.Policy.LoopRate = new(1800.0)
		r = judgeLoop(e)
		assert.Equal(t, assertions.Undecided, r.Verdict, "%+v", r)
		assert.Contains(t, r.Why, "do not show the loop's turns")
	}
}

func TestLoopRateThatCannotBeDetermined(t *testing.T) {
	tests := []struct {
		name   string
		change func(e *assertions.Evidence)
		why    string
	}{
		{"the speed stands still", func(e *assertions.Evidence) {
			for i := range e.Trace.Column[trace.Speed] {
				e.Trace.Column[trace.Speed][i] = 3
			}
		}, "the speed stands still"},
		{"no motor moves", func(e *assertions.Evidence) {
			for w := range e.Trace.Motor {
				for i := range e.Trace.Motor[w].Frames {
					e.Trace.Motor[w].Frames[i].Value = 0.4
				}
			}
		}, "no motor follows the speed"},
		{"silent", func(e *assertions.Evidence) {
			for w := range e.Trace.Motor {
				e.Trace.Motor[w].Frames = nil
			}
		}, "motor_front_left sent no command in the window"},
		{"no trace", func(e *assertions.Evidence) { e.Trace = nil }, "the speed stands still"},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			e := turns(t, controller.Bramble(), 1)
			tt.change(e)
			r := judgeLoop(e)
			assert.Equal(t, assertions.Undecided, r.Verdict)
			assert.Contains(t, r.Why, tt.why)
		})
	}
}
