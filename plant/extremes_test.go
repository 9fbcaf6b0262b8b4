package plant

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"
)

// drive takes steps of 1 ms and checks on the way that nothing grows without bound.
func drive(t *testing.T, m *Model, in Input, steps int) {
	t.Helper()
	for n := range steps {
		m.Step(in, 0.001)
		for i, x := range elements(m.State()) {
			require.Less(t, math.Abs(x), 1e5, "element %d after %d steps: %+v", i, n, m.State())
		}
	}
}

// TestStandstill: a car at rest stays exactly at rest, whatever the steer.
func TestStandstill(t *testing.T) {
	for _, c := range []Car{small(), complete()} {
		m := newModel(t, c, State{})
		drive(t, m, Input{Steer: 0.4}, 1000)
		s := m.State()
		s.Steer = 0
		assert.Equal(t, State{}, s)
		out := m.Output()
		assert.InDelta(t, c.Mass*9.80665, sum(out.Load), 1e-12)
	}
}

// TestComesToRest: pushed gently and left alone, a car without rolling resistance
// rolls on or stops, and shows no oscillation from step to step.
func TestComesToRest(t *testing.T) {
	c := small()
	s := rolling(c, 0.05)
	s.Vy, s.YawRate = 0.02, 0.3
	s.Wheel[0] = -1
	m := newModel(t, c, s)
	drive(t, m, Input{Steer: 0.3}, 200)
	for range 100 {
		before := m.State()
		drive(t, m, Input{Steer: 0.3}, 1)
		assertState(t, before, m.State(), 1e-3)
	}
}

// TestStartFromRest: with torques well below the friction the speed grows by what the
// force gives the mass and the wheels' inertia together.
func TestStartFromRest(t *testing.T) {
	c := small()
	c.Aero = Aero{}
	m := newModel(t, c, State{})
	const torque, seconds = 0.1, 1.0
	drive(t, m, Input{Torque: [4]float64{torque, torque, torque, torque}}, 1000)
	s := m.State()
	effective := c.Mass + 4*c.WheelInertia/(c.WheelRadius*c.WheelRadius)
	want := 4 * torque / c.WheelRadius / effective * seconds
	assert.InEpsilon(t, want, s.Vx, 0.01)
	assert.InDelta(t, 0, s.Vy, 1e-12)
	assert.InDelta(t, 0, s.Y, 1e-12)
	assert.InEpsilon(t, want*seconds/2, s.X, 0.01)
}

// TestBrakeToStop: braked by its motors at a proportional command the car comes to
// rest and stays there; no wheel turns backwards faster than a creep.
func TestBrakeToStop(t *testing.T) {
	c := small()
	c.Motor = Motor{StallTorque: 1.6, NoLoadSpeed: 520, DragBrake: 1}
	m := newModel(t, c, rolling(c, 10))
	m.Step(Input{}, 0.001)
	drive(t, m, Input{Steer: 0.1}, 15_000)
	s := m.State()
	assert.InDelta(t, 0, s.Vx, 0.01)
	assert.InDelta(t, 0, s.YawRate, 0.01)
	for i := range 4 {
		assert.InDelta(t, 0, s.Wheel[i], 0.2)
	}
}

// TestLock: wheels held by a strong brake stop, slide at the friction of a locked wheel,
// and the car's deceleration is that.
func TestLock(t *testing.T) {
	c := small()
	c.Aero = Aero{}
	c.Tyre.LoadSensitivity = 0
	m := newModel(t, c, rolling(c, 20))
	in := Input{}
	for range 400 {
		for i, w := range m.State().Wheel { // a brake: against the rotation
			in.Torque[i] = -max(-1, min(1, w/5)) * 2
		}
		drive(t, m, in, 1)
	}
	out := m.Output()
	want := -9.80665 * c.Tyre.LongitudinalMu * MagicFormula(100, c.Tyre.LongitudinalB, c.Tyre.LongitudinalC, c.Tyre.LongitudinalE)
	assert.InEpsilon(t, want, out.LongitudinalAccel, 0.01)
	assert.Less(t, m.State().Vx, 18.0)
	for i := range 4 {
		assert.Less(t, math.Abs(m.State().Wheel[i]), 30.0)
	}
}

// TestWheelspin: far too much torque spins the wheels up; the car accelerates no more
// than the friction allows and grips again when the torque is gone.
func TestWheelspin(t *testing.T) {
	c := small()
	m := newModel(t, c, State{})
	drive(t, m, Input{Steer: 0.05, Torque: [4]float64{.9, .9, .9, .9}}, 300)
	s := m.State()
	assert.Greater(t, s.Wheel[2]*c.WheelRadius, 3*s.Vx)
	assert.Less(t, s.Vx, 0.3*9.80665*c.Tyre.LongitudinalMu*1.1)
	drive(t, m, Input{}, 3000)
	s = m.State()
	for i, v := range c.HubSpeeds(s.Vx, s.YawRate, 0) {
		assert.InDelta(t, v, s.Wheel[i]*c.WheelRadius, 0.05*v+0.05)
	}
}

// TestTopSpeed: 35 m/s straight on and with a small steer.
func TestTopSpeed(t *testing.T) {
	c := small()
	m := newModel(t, c, rolling(c, 35))
	drive(t, m, Input{}, 500)
	// m v' = -k v^2, the mass with the wheels' inertia.
	k := 1.225 * c.Aero.DragArea / 2 / (c.Mass + 4*c.WheelInertia/(c.WheelRadius*c.WheelRadius))
	assert.InEpsilon(t, 1/(1.0/35+k*0.5), m.State().Vx, 1e-3)
	drive(t, m, Input{Steer: 0.01}, 1000)
	out := m.Output()
	assert.Less(t, math.Abs(out.LateralAccel), 20.0)
}

// TestReverse: driven backwards the car goes backwards, and its yaw rate follows the
// steer as geometry says.
func TestReverse(t *testing.T) {
	c := small()
	m := newModel(t, c, State{})
	in := Input{Steer: 0.05, Torque: [4]float64{-.05, -.05, -.05, -.05}}
	drive(t, m, in, 800)
	s := m.State()
	assert.Less(t, s.Vx, -0.3)
	assert.InEpsilon(t, s.Vx*math.Tan(in.Steer)/(c.FrontAxle+c.RearAxle), s.YawRate, 0.1)
}

// TestTallCar: in a car so high that it would tip, where Newton's method alone goes
// round in a circle, the accelerations still are those of the forces.
func TestTallCar(t *testing.T) {
	tests := []struct {
		name                string
		height, sensitivity float64
		state               State
		steer               float64
	}{
		{"first", 0.22, 0.04, State{Vx: -27.75, Vy: 4.13, YawRate: -11.84, Wheel: [4]float64{258.79, -629.04, -428.19, 424.32}}, -0.39},
		{"second", 0.23, 0.09, State{Vx: 28.1, Vy: -7.29, YawRate: -14.01, Wheel: [4]float64{572.15, -247.66, -551.47, 576.53}}, -0.6},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			c := small()
			c.CGHeight, c.Tyre.LoadSensitivity = tt.height, tt.sensitivity
			_, out := evaluated(t, c, tt.state, Input{Steer: tt.steer})
			sin, cos := math.Sincos(tt.steer)
			side := out.LateralForce[2] + out.LateralForce[3]
			for i := range 2 {
				side += out.LongitudinalForce[i]*sin + out.LateralForce[i]*cos
			}
			assert.InDelta(t, side/c.Mass, out.LateralAccel, 1e-3)
		})
	}
}

// TestAnything: from any state within reason and under any input the model stays
// finite, its slip power stays above 0 and its loads add up.
func TestAnything(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		number := func(name string, size float64) float64 { return rapid.Float64Range(-size, size).Draw(t, name) }
		c := small()
		if rapid.Bool().Draw(t, "complete") {
			c = complete()
		}
		c.CGHeight *= rapid.Float64Range(0, 4).Draw(t, "height") // up to tipping over
		c.Tyre.LoadSensitivity = rapid.Float64Range(0, 0.5).Draw(t, "sensitivity")
		s := State{Vx: number("vx", 35), Vy: number("vy", 20), YawRate: number("yaw rate", 20), Steer: number("servo", 0.5)}
		in := Input{Steer: number("steer", 0.7)}
		for i := range 4 {
			s.Wheel[i] = number("wheel", 700)
			in.Torque[i] = number("torque", 4)
			in.Command[i] = number("command", 2)
		}
		m := newModel(t, c, s)
		for range 30 {
			m.Step(in, 0.001)
			for i, x := range elements(m.State()) {
				require.Less(t, math.Abs(x), 1e5, "element %d", i)
			}
			out := m.Output()
			for i := range 4 {
				require.GreaterOrEqual(t, out.SlipPower[i], -1e-12)
				require.GreaterOrEqual(t, out.Load[i], 0.0)
			}
		}
	})
}

func sum(x [4]float64) float64 { return x[0] + x[1] + x[2] + x[3] }
