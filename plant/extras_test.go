package plant

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"
)

// TestMotor has the corners of the torque-speed characteristic; common practice, no
// source.
func TestMotor(t *testing.T) {
	m := Motor{StallTorque: 2, NoLoadSpeed: 400, DragBrake: 0.1}
	limited := m
	limited.TorqueLimit = 0.5
	tests := []struct {
		name           string
		motor          Motor
		command, speed float64
		want           float64
	}{
		{"stall", m, 1, 0, 2},
		{"half command at stall", m, 0.5, 0, 1},
		{"half speed", m, 1, 200, 1},
		{"no load", m, 1, 400, 0},
		{"no load at half command", m, 0.5, 200, 0},
		{"overrun", m, 0.5, 300, -0.05},
		{"idle at rest", m, 0, 0, 0},
		{"idle at no-load speed", m, 0, 400, -0.2},
		{"idle backwards", m, 0, -400, 0.2},
		{"braking", m, -0.5, 400, -1.2},
		{"backwards from rest", m, -1, 0, -2},
		{"backwards at speed", m, -1, -200, -1},
		{"limited drive", limited, 1, 0, 0.5},
		{"limited brake", limited, -1, 400, -0.5},
		{"below the limit", limited, 0.1, 0, 0.2},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			assert.InDelta(t, tt.want, tt.motor.torque(tt.command, tt.speed), 1e-15)
		})
	}
}

// TestMotorContinuous: a small change of command or speed changes the torque little,
// across every corner.
func TestMotorContinuous(t *testing.T) {
	m := Motor{StallTorque: 2, NoLoadSpeed: 400, DragBrake: 0.1, TorqueLimit: 0.7}
	rapid.Check(t, func(t *rapid.T) {
		c := rapid.Float64Range(-1, 1).Draw(t, "command")
		w := rapid.Float64Range(-600, 600).Draw(t, "speed")
		if rapid.Bool().Draw(t, "at a corner") {
			c = rapid.SampledFrom([]float64{0, w / 400}).Draw(t, "corner")
		}
		const step = 1e-6
		for _, d := range []float64{-step, step} {
			assert.InDelta(t, m.torque(c, w), m.torque(c+d, w), 2.1*step)
			assert.InDelta(t, m.torque(c, w), m.torque(c, w+400*d), 2.1*step)
		}
	})
}

// TestMotorLag holds the torque after a step of the command at standstill to the
// exponential.
func TestMotorLag(t *testing.T) {
	c := small()
	c.WheelInertia = 1e6 // held still
	c.Motor = Motor{StallTorque: 1, NoLoadSpeed: 400, TorqueLagTau: 0.01}
	m := newModel(t, c, State{})
	for range 20 {
		m.Step(Input{Command: [4]float64{0.6, 0.6, 0.6, 0.6}}, 0.001)
	}
	assert.InDelta(t, 0.6*(1-math.Exp(-2)), m.Output().Torque[2], 1e-6)
	assert.Equal(t, m.State().Torque, m.Output().Torque)
}

// TestCommandClipped: commands beyond full are full.
func TestCommandClipped(t *testing.T) {
	c := small()
	c.Motor = Motor{StallTorque: 0.2, NoLoadSpeed: 400}
	a, b := newModel(t, c, State{}), newModel(t, c, State{})
	a.Step(Input{Command: [4]float64{1, -1, 1, -1}}, 0.001)
	b.Step(Input{Command: [4]float64{7, -3, math.Inf(1), math.Inf(-1)}}, 0.001)
	assert.Equal(t, a.State(), b.State())
}

// TestServo holds the servo to the exact solution of its rate limit and lag.
func TestServo(t *testing.T) {
	tests := []struct {
		name              string
		servo             Servo
		from, command, at float64
		want              float64
	}{
		{"rate only, on the way", Servo{Rate: 5}, 0, 0.4, 0.03, 0.15},
		{"rate only, arrived", Servo{Rate: 5}, 0, 0.4, 0.09, 0.4},
		{"rate only, to the right", Servo{Rate: 5}, 0.1, -0.4, 0.02, 0},
		{"lag only", Servo{Lag: 0.02}, 0, 0.4, 0.02, 0.4 * (1 - math.Exp(-1))},
		{"both, still limited", Servo{Rate: 5, Lag: 0.02}, 0, 0.4, 0.05, 0.25},
		{"both, past the knee", Servo{Rate: 5, Lag: 0.02}, 0, 0.4, 0.08, 0.4 - 0.1*math.Exp(-1)},
		{"both, past the knee to the right", Servo{Rate: 5, Lag: 0.02}, 0.4, 0, 0.08, 0.1 * math.Exp(-1)},
		{"both, never limited", Servo{Rate: 5, Lag: 0.02}, 0, 0.05, 0.02, 0.05 * (1 - math.Exp(-1))},
		{"there already", Servo{Rate: 5, Lag: 0.02}, 0.2, 0.2, 1, 0.2},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			assert.InDelta(t, tt.want, tt.servo.angle(tt.from, tt.command, tt.at), 1e-15)
		})
	}
	rapid.Check(t, func(t *rapid.T) {
		s := Servo{Rate: rapid.Float64Range(0, 10).Draw(t, "rate"), Lag: rapid.Float64Range(0, 0.1).Draw(t, "lag")}
		from, to := rapid.Float64Range(-1, 1).Draw(t, "from"), rapid.Float64Range(-1, 1).Draw(t, "to")
		a, b := rapid.Float64Range(0, 0.2).Draw(t, "a"), rapid.Float64Range(0, 0.2).Draw(t, "b")
		assert.InDelta(t, s.angle(from, to, a+b), s.angle(s.angle(from, to, a), to, b), 1e-12, "two times in turn are one")
	})
}

// TestServoInModel: the wheels follow the servo, not the command.
func TestServoInModel(t *testing.T) {
	c := small()
	c.Servo = Servo{Rate: 5, Lag: 0.02}
	m := newModel(t, c, rolling(c, 6))
	for range 50 {
		m.Step(Input{Steer: 0.4}, 0.001)
	}
	assert.InDelta(t, 0.25, m.State().Steer, 1e-12)
	assert.Equal(t, [2]float64{m.State().Steer, m.State().Steer}, m.Output().SteerAngle)
	assert.Greater(t, m.State().YawRate, 0.5)

	plain := newModel(t, small(), rolling(c, 6))
	plain.Step(Input{Steer: 0.4}, 0.001)
	assert.Equal(t, 0.4, plain.State().Steer, "without a servo, at once")
}

func TestSteering(t *testing.T) {
	const degree = math.Pi / 180
	even := Steering{Points: []SteerPoint{
		{Pulse: 0.001, Left: -30 * degree, Right: -30 * degree},
		{Pulse: 0.0015},
		{Pulse: 0.002, Left: 30 * degree, Right: 30 * degree},
	}}
	t.Run("a straight table is its own line", func(t *testing.T) {
		l := even.Line()
		assert.InEpsilon(t, 60*degree/0.001, l.Slope, 1e-12)
		assert.InEpsilon(t, 0.0015, l.Centre, 1e-12)
		assert.InEpsilon(t, 0.001+25e-5, even.PulseFor(-15*degree), 1e-12)
		assert.InEpsilon(t, 15*degree, even.AngleFor(0.00175), 1e-12)
		left, right := even.Angles(0.00175)
		assert.InEpsilon(t, 15*degree, left, 1e-12)
		assert.InEpsilon(t, 15*degree, right, 1e-12)
	})
	t.Run("ends", func(t *testing.T) {
		for pulse, want := range map[float64]float64{0: -30, 0.001: -30, 0.002: 30, 0.003: 30} {
			left, right := even.Angles(pulse)
			assert.InDelta(t, want*degree, left, 1e-15)
			assert.InDelta(t, want*degree, right, 1e-15)
		}
	})
	t.Run("least squares", func(t *testing.T) {
		// Four points off a line: means 0, 1, 1, 3 over 0, 1, 2, 3 have the slope 0.9
		// and the intercept -0.1.
		s := Steering{Points: []SteerPoint{
			{Pulse: 0, Left: -0.1, Right: 0.1}, {Pulse: 1, Left: 1.2, Right: 0.8}, {Pulse: 2, Left: 1, Right: 1}, {Pulse: 3, Left: 3.5, Right: 2.5},
		}}
		l := s.Line()
		assert.InEpsilon(t, 0.9, l.Slope, 1e-14)
		assert.InEpsilon(t, 0.1/0.9, l.Centre, 1e-14)
	})
	t.Run("there and back", func(t *testing.T) {
		rapid.Check(t, func(t *rapid.T) {
			a := rapid.Float64Range(-1, 1).Draw(t, "angle")
			s := complete().Steering
			assert.InDelta(t, a, s.AngleFor(s.PulseFor(a)), 1e-14)
		})
	})
	t.Run("nothing to fit", func(t *testing.T) {
		assert.Equal(t, SteerLine{}, Steering{}.Line())
		assert.Equal(t, SteerLine{}, Steering{Points: even.Points[:1]}.Line())
		assert.Zero(t, Steering{}.PulseFor(0.1))
		left, right := Steering{}.Angles(0.0015)
		assert.Zero(t, left)
		assert.Zero(t, right)
	})
}

// TestSteeringInModel: each front wheel stands as the table says at the pulse that the
// line gives for the steer.
func TestSteeringInModel(t *testing.T) {
	c := complete()
	c.Servo = Servo{}
	m := newModel(t, c, rolling(c, 5))
	m.Step(Input{Steer: 0.3}, 0.001)
	left, right := c.Steering.Angles(c.Steering.PulseFor(0.3))
	assert.Equal(t, [2]float64{left, right}, m.Output().SteerAngle)
	assert.Greater(t, left, right)
}

// TestSteeringByTable: who steers by the table has the mean angle that was asked for.
func TestSteeringByTable(t *testing.T) {
	c := complete()
	c.Servo = Servo{}
	c.Steering = Steering{ByTable: true, Points: []SteerPoint{
		{Pulse: 0.001, Left: 0.5, Right: 0.4}, {Pulse: 0.0015, Left: 0.1, Right: 0.1}, {Pulse: 0.002, Left: -0.2, Right: -0.3},
	}}
	m := newModel(t, c, rolling(c, 5))
	for _, steer := range []float64{-0.25, -0.1, 0, 0.1, 0.3, 0.45} {
		m.Step(Input{Steer: steer}, 0.001)
		angles := m.Output().SteerAngle
		assert.InDelta(t, steer, (angles[0]+angles[1])/2, 1e-12)
	}
}

// TestHubSpeeds holds the hub rule to cases that a drawing answers.
func TestHubSpeeds(t *testing.T) {
	c := Car{FrontAxle: 0.3, RearAxle: 0.2, FrontTrack: 0.4, RearTrack: 0.5, WheelRadius: 0.1}
	s, k := math.Sincos(0.2)
	tests := []struct {
		name              string
		speed, yaw, steer float64
		want              [4]float64
	}{
		{"straight on", 5, 0, 0, [4]float64{5, 5, 5, 5}},
		{"turning left without steer", 5, 2, 0, [4]float64{4.6, 5.4, 4.5, 5.5}},
		{"steered, not turning", 5, 0, 0.2, [4]float64{5 * k, 5 * k, 5, 5}},
		{"turning left, steered left", 5, 2, 0.2, [4]float64{4.6*k + 0.6*s, 5.4*k + 0.6*s, 4.5, 5.5}},
		{"turning right, steered right", 5, -2, -0.2, [4]float64{5.4*k + 0.6*s, 4.6*k + 0.6*s, 5.5, 4.5}},
		{"turning on the spot", 0, 1, 0, [4]float64{-0.2, 0.2, -0.25, 0.25}},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			got := c.HubSpeeds(tt.speed, tt.yaw, tt.steer)
			rates := c.WheelRates(tt.speed, tt.yaw, tt.steer)
			for i := range 4 {
				assert.InDelta(t, tt.want[i], got[i], 1e-14, "%v", Wheel(i))
				assert.InDelta(t, tt.want[i]/0.1, rates[i], 1e-12, "%v", Wheel(i))
			}
		})
	}
}

// TestHubSpeedsInModel: wheels set by the hub rule do not slip along themselves.
func TestHubSpeedsInModel(t *testing.T) {
	c := small()
	m := newModel(t, c, State{Vx: 6, YawRate: 1.5, Wheel: c.WheelRates(6, 1.5, 0.15)})
	m.in = Input{Steer: 0.15}
	for i, slip := range m.Output().SlipRatio {
		assert.InDelta(t, 0, slip, 1e-15, "%v", Wheel(i))
	}
}

func TestValidate(t *testing.T) {
	require.NoError(t, small().Validate())
	require.NoError(t, complete().Validate())
	tests := []struct {
		name string
		mend func(*Car)
		want []string
	}{
		{"nothing set", func(c *Car) { *c = Car{} }, []string{
			"Mass is 0: use a number above 0 (kg)", "YawInertia is 0", "FrontAxle is 0", "RearAxle is 0", "FrontTrack is 0",
			"RearTrack is 0", "WheelRadius is 0", "WheelInertia is 0", "Tyre.LongitudinalB is 0", "Tyre.LateralC is 0", "Tyre.LateralMu is 0"}},
		{"not a number", func(c *Car) { c.Mass = math.NaN() }, []string{"Mass is NaN"}},
		{"infinite", func(c *Car) { c.YawInertia = math.Inf(1) }, []string{"YawInertia is +Inf"}},
		{"two at once", func(c *Car) { c.Mass, c.RollShare = -1, 1.2 }, []string{"Mass is -1", "RollShare is 1.2: use a number from 0 to 1"}},
		{"height", func(c *Car) { c.CGHeight = -0.1 }, []string{"CGHeight is -0.1: use 0 or more (m)"}},
		{"too high", func(c *Car) { c.CGHeight = 0.3 }, []string{"CGHeight is 0.3: use at most the smaller track, 0.255 m"}},
		{"lift", func(c *Car) { c.Aero.RearLiftArea = math.NaN() }, []string{"Aero.RearLiftArea is NaN: use a finite number"}},
		{"no peak", func(c *Car) { c.Tyre.LongitudinalC = 1 }, []string{"Tyre.LongitudinalC is 1: use a shape factor above 1"}},
		{"curved too far", func(c *Car) { c.Tyre.LateralE = 1.5 }, []string{"Tyre.LateralE is 1.5"}},
		{"peak out of reach", func(c *Car) { c.Tyre.LateralC, c.Tyre.LateralE = 1.2, 1 }, []string{"the curve never reaches its peak"}},
		{"sign at large slip", func(c *Car) { c.Tyre.LateralC = 2.4 }, []string{"Tyre.LateralC is 2.4: use at most 2 with this E"}},
		{"no load", func(c *Car) { c.Tyre.Load = 0 }, []string{"Tyre.Load is 0"}},
		{"motor without speed", func(c *Car) { c.Motor.StallTorque = 1 }, []string{"Motor.NoLoadSpeed is 0"}},
		{"lag too short", func(c *Car) { c.Motor.TorqueLagTau = 1e-5 }, []string{"Motor.TorqueLagTau is 1e-05: use 0 for none or at least 0.0005 s"}},
		{"negative servo", func(c *Car) { c.Servo = Servo{Rate: -1, Lag: -1} }, []string{"Servo.Rate is -1", "Servo.Lag is -1"}},
		{"one steering point", func(c *Car) { c.Steering.Points = []SteerPoint{{Pulse: 1}} }, []string{"Steering.Points is 1: give at least two points"}},
		{"steering points out of order", func(c *Car) {
			c.Steering.Points = []SteerPoint{{Pulse: 0.002, Left: 0.1}, {Pulse: 0.001, Left: 2}}
		}, []string{"Steering.Points[1].Pulse is 0.001: sort", "Steering.Points[1].Left is 2"}},
		{"level steering", func(c *Car) { c.Steering.Points = []SteerPoint{{Pulse: 0.001}, {Pulse: 0.002}} }, []string{"their line is level"}},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			c := small()
			tt.mend(&c)
			m, err := New(c)
			assert.Nil(t, m)
			for _, want := range tt.want {
				assert.ErrorContains(t, err, want)
			}
		})
	}
}

// TestSurfaceSetsAccepted: the published surface sets, some with E of 1 and a C above
// 2, are tyres.
func TestSurfaceSetsAccepted(t *testing.T) {
	for name, s := range map[string][4]float64{
		"dry": {10, 1.9, 1, 0.97}, "wet": {12, 2.3, 0.82, 1}, "snow": {5, 2, 0.3, 1}, "ice": {4, 2, 0.1, 1},
	} {
		c := small()
		c.Tyre = Tyre{
			LongitudinalB: s[0], LongitudinalC: s[1], LongitudinalMu: s[2], LongitudinalE: s[3],
			LateralB: s[0], LateralC: s[1], LateralMu: s[2], LateralE: s[3],
		}
		assert.NoError(t, c.Validate(), name)
	}
}

func TestBumpedWheelGivesNoForce(t *testing.T) {
	m, err := New(complete())
	require.NoError(t, err)
	m.Reset(State{Vx: 6, YawRate: 1, Wheel: [4]float64{112, 112, 112, 112}})
	in := Input{Steer: 0.1}
	in.Unload[FrontLeft] = 1
	m.Step(in, 1e-3)
	o := m.Output()
	assert.Zero(t, o.LateralForce[FrontLeft])
	assert.NotZero(t, o.LateralForce[FrontRight])
	m.Step(Input{Steer: 0.1}, 1e-3)
	assert.NotZero(t, m.Output().LateralForce[FrontLeft], "back on the ground")
}
