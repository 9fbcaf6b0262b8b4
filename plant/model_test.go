package plant

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"
)

func newModel(t require.TestingT, c Car, s State) *Model {
	m, err := New(c)
	require.NoError(t, err)
	m.Reset(s)
	return m
}

// rolling is straight running at a speed (m/s), the wheels rolling freely.
func rolling(c Car, v float64) State {
	w := v / c.WheelRadius
	return State{Vx: v, Wheel: [4]float64{w, w, w, w}}
}

// complete is the made-up car with every extra switched on.
func complete() Car {
	c := small()
	c.Motor = Motor{StallTorque: 1.6, NoLoadSpeed: 520, TorqueLimit: 0.8, DragBrake: 0.1, TorqueLagTau: 0.004}
	c.Servo = Servo{Rate: 6, Lag: 0.015}
	c.Steering = Steering{Points: []SteerPoint{
		{Pulse: 0.0011, Left: -0.36, Right: -0.42}, {Pulse: 0.0013, Left: -0.19, Right: -0.21},
		{Pulse: 0.0015}, {Pulse: 0.0017, Left: 0.21, Right: 0.19}, {Pulse: 0.0019, Left: 0.42, Right: 0.36},
	}}
	return c
}

// mirrored is a state seen in a mirror along the x axis.
func mirrored(s State) State {
	swap := func(w [4]float64) [4]float64 { return [4]float64{w[1], w[0], w[3], w[2]} }
	return State{
		Vx: s.Vx, Vy: -s.Vy, YawRate: -s.YawRate, Heading: -s.Heading, X: s.X, Y: -s.Y,
		Wheel: swap(s.Wheel), Steer: -s.Steer, Torque: swap(s.Torque),
	}
}

// TestMirror drives mirrored cars with mirrored inputs: their motions must be
// mirrored, to rounding.
func TestMirror(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		s, in := moving(t)
		s.Steer = in.Steer
		c := small()
		if rapid.Bool().Draw(t, "complete") {
			c = complete()
			in.Command = in.Torque
		}
		a, b := newModel(t, c, s), newModel(t, c, mirrored(s))
		other := Input{
			Steer:   -in.Steer,
			Torque:  [4]float64{in.Torque[1], in.Torque[0], in.Torque[3], in.Torque[2]},
			Command: [4]float64{in.Command[1], in.Command[0], in.Command[3], in.Command[2]},
		}
		for range 20 {
			a.Step(in, 0.001)
			b.Step(other, 0.001)
		}
		assertState(t, a.State(), mirrored(b.State()), 1e-10)
	})
}

// assertState holds every element of two states together, relative to its size and 1.
func assertState(t require.TestingT, want, got State, tolerance float64) {
	w, g := elements(want), elements(got)
	for i := range w {
		require.InDelta(t, w[i], g[i], tolerance*(1+math.Abs(w[i])), "element %d", i)
	}
}

func elements(s State) []float64 {
	e := []float64{s.Vx, s.Vy, s.YawRate, s.Heading, s.X, s.Y, s.Steer}
	return append(append(e, s.Wheel[:]...), s.Torque[:]...)
}

// TestOrder halves the step and watches the error fall by 2^4: the observed order of
// convergence, against a step sixteen times finer than the finest.
func TestOrder(t *testing.T) {
	tests := []struct {
		name string
		car  Car
	}{
		{"plain", small()},
		{"motor lag and servo lag", func() Car {
			c := complete()
			c.Servo.Rate = 0            // its limit has a knee
			c.Motor.TorqueLimit = 0     // as has this
			c.Motor.TorqueLagTau = 0.05 // slow enough for the coarsest step
			c.Steering.Points = []SteerPoint{{Pulse: 0.001, Left: -0.4, Right: -0.3}, {Pulse: 0.002, Left: 0.4, Right: 0.5}}
			return c
		}()},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			// Fast enough that no step is divided.
			in := Input{Steer: 0.02, Torque: [4]float64{.1, .15, .2, .1}, Command: [4]float64{.9, .95, .9, .8}}
			const seconds = 0.128
			end := func(steps int) State {
				m := newModel(t, tt.car, rolling(tt.car, 12))
				for range steps {
					m.Step(in, seconds/float64(steps))
				}
				return m.State()
			}
			exact := end(256 * 16)
			var errors []float64
			for _, steps := range []int{64, 128, 256} {
				got := end(steps)
				e := 0.0
				for i, x := range elements(got) {
					e = max(e, math.Abs(x-elements(exact)[i])/(1+math.Abs(x)))
				}
				errors = append(errors, e)
			}
			assert.InDelta(t, 4, math.Log2(errors[0]/errors[1]), 0.4, "errors %g", errors)
			assert.InDelta(t, 4, math.Log2(errors[1]/errors[2]), 0.2, "errors %g", errors)
		})
	}
}

// TestSmallAngles holds the steady turn at a small steer to the single track's gains
// within 2e-3; what remains is real, the drive force on the steered wheels.
func TestSmallAngles(t *testing.T) {
	c := small()
	c.Aero = Aero{}
	c.Tyre.LoadSensitivity = 0
	linear := c.SingleTrack()
	for _, v := range []float64{2, 5, 8, 12} {
		const steer = 1e-4
		m := newModel(t, c, rolling(c, v))
		for range 3000 {
			m.Step(Input{Steer: steer}, 0.001)
		}
		s := m.State()
		assert.InEpsilon(t, linear.YawGain(s.Vx), s.YawRate/steer, 2e-3, "yaw gain at %v m/s", v)
		assert.InEpsilon(t, linear.LateralGain(s.Vx), m.Output().LateralAccel/steer, 2e-3, "lateral gain at %v m/s", v)
		assert.InDelta(t, linear.BetaGain(s.Vx), s.Vy/s.Vx/steer, 2e-3*max(1, math.Abs(linear.BetaGain(s.Vx))), "beta gain at %v m/s", v)
	}
}

// TestRestart holds State and Reset to be complete: the motion goes on with the same
// bits.
func TestRestart(t *testing.T) {
	for _, c := range []Car{small(), complete()} {
		in := Input{Steer: 0.2, Torque: [4]float64{.2, .3, .1, .1}, Command: [4]float64{.2, .9, .1, -.5}}
		a := newModel(t, c, rolling(c, 7))
		for range 100 {
			a.Step(in, 0.001)
		}
		b := newModel(t, c, a.State())
		for range 100 {
			a.Step(in, 0.001)
			_ = a.Output() // looking must not touch
			b.Step(in, 0.001)
			require.Equal(t, a.State(), b.State())
		}
		require.Equal(t, a.Output(), b.Output())
	}
}

// TestOwnTable: the model keeps its own copy of the steering table.
func TestOwnTable(t *testing.T) {
	c := complete()
	m := newModel(t, c, rolling(c, 5))
	c.Steering.Points[2].Left = 1
	m.Step(Input{}, 0.001)
	assert.InDelta(t, 0, m.Output().SteerAngle[0], 0.01)
}

func TestNoAllocations(t *testing.T) {
	for _, c := range []Car{small(), complete()} {
		m := newModel(t, c, rolling(c, 1)) // slow: several parts
		in := Input{Steer: 0.1, Torque: [4]float64{.1, .1, .1, .1}, Command: [4]float64{.1, .1, .1, .1}}
		assert.Zero(t, testing.AllocsPerRun(100, func() {
			m.Step(in, 0.001)
			_ = m.State()
			_ = m.Output()
			_ = c.WheelRates(3, 1, 0.1)
		}))
	}
}

// TestBits folds a violent drive of the complete car into one number that must be the
// same on every architecture. The number is this model's own.
func TestBits(t *testing.T) {
	m := newModel(t, complete(), State{})
	var h uint64
	for n := range 3000 {
		in := Input{Steer: 0.4 * float64(n%700-350) / 350}
		for i := range 4 {
			in.Command[i] = float64((n*(i+3))%1999-700) / 1000
		}
		m.Step(in, 0.001)
		for _, x := range elements(m.State()) {
			h = (h ^ math.Float64bits(x)) * 1099511628211
		}
		h = (h ^ math.Float64bits(m.Output().LateralAccel)) * 1099511628211
	}
	assert.Equal(t, uint64(0xf52a7454dc4249e5), h, "%#x, %+v", h, m.State())
}
