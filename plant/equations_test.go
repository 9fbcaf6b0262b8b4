package plant

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"
)

// equations is the plain configuration written down a second time, straight from
// the package comment with the functions of math, the loop of loads and
// accelerations solved by plain iteration.
func equations(c Car, s State, in Input) (rates State, out Output) {
	tyre, wheelbase, m := c.Tyre, c.FrontAxle+c.RearAxle, c.Mass
	x := [4]float64{c.FrontAxle, c.FrontAxle, -c.RearAxle, -c.RearAxle}
	y := [4]float64{c.FrontTrack / 2, -c.FrontTrack / 2, c.RearTrack / 2, -c.RearTrack / 2}
	d := [4]float64{in.Steer, in.Steer, 0, 0}
	mf := func(x, b, c, e float64) float64 {
		return math.Sin(c * math.Atan(b*x-e*(b*x-math.Atan(b*x))))
	}
	xm := PeakSlip(tyre.LongitudinalB, tyre.LongitudinalC, tyre.LongitudinalE)
	ym := PeakSlip(tyre.LateralB, tyre.LateralC, tyre.LateralE)
	const g, rho = 9.80665, 1.225
	q := rho * s.Vx * s.Vx / 2
	drag := math.Copysign(q*c.Aero.DragArea, s.Vx)
	var ax, ay, mz float64
	for range 200 {
		front := m*g*c.RearAxle/wheelbase - m*ax*c.CGHeight/wheelbase + q*c.Aero.FrontLiftArea
		rear := m*g*c.FrontAxle/wheelbase + m*ax*c.CGHeight/wheelbase + q*c.Aero.RearLiftArea
		df := c.RollShare * m * ay * c.CGHeight / c.FrontTrack
		dr := (1 - c.RollShare) * m * ay * c.CGHeight / c.RearTrack
		loads := [4]float64{front/2 - df, front/2 + df, rear/2 - dr, rear/2 + dr}
		fx, fy := 0.0, 0.0
		mz = 0
		for i := range 4 {
			load := math.Max(0, loads[i])
			u, v := s.Vx-s.YawRate*y[i], s.Vy+s.YawRate*x[i]
			vxw := u*math.Cos(d[i]) + v*math.Sin(d[i])
			vyw := -u*math.Sin(d[i]) + v*math.Cos(d[i])
			rim := c.WheelRadius * s.Wheel[i]
			sx, sy := (rim-vxw)/rim, vyw/rim
			k := 1 - tyre.LoadSensitivity*(load-tyre.Load)/tyre.Load
			nx, ny := sx/xm, sy/ym
			n := max(math.Hypot(nx, ny), 1e-300) // for n -> 0 the linear limit, which is 0
			f := tyre.LongitudinalMu * k * load * mf(n*xm, tyre.LongitudinalB, tyre.LongitudinalC, tyre.LongitudinalE) * nx / n
			l := -tyre.LateralMu * k * load * mf(n*ym, tyre.LateralB, tyre.LateralC, tyre.LateralE) * ny / n
			fbx, fby := f*math.Cos(d[i])-l*math.Sin(d[i]), f*math.Sin(d[i])+l*math.Cos(d[i])
			fx, fy, mz = fx+fbx, fy+fby, mz+x[i]*fby-y[i]*fbx
			out.Load[i], out.LongitudinalForce[i], out.LateralForce[i] = load, f, l
			out.SlipRatio[i], out.LateralSlip[i] = sx, sy
			rates.Wheel[i] = (in.Torque[i] - c.WheelRadius*f) / c.WheelInertia
			out.SlipPower[i] = f*(rim-vxw) - l*vyw
		}
		ax, ay = (fx-drag)/m, fy/m
	}
	out.LongitudinalAccel, out.LateralAccel, out.YawAccel, out.DragForce = ax, ay, mz/c.YawInertia, drag
	rates.Vx, rates.Vy, rates.YawRate, rates.Heading = ax+s.YawRate*s.Vy, ay-s.YawRate*s.Vx, mz/c.YawInertia, s.YawRate
	rates.X = s.Vx*math.Cos(s.Heading) - s.Vy*math.Sin(s.Heading)
	rates.Y = s.Vx*math.Sin(s.Heading) + s.Vy*math.Cos(s.Heading)
	return rates, out
}

// moving draws a state and an input of ordinary to violent driving: up to 35 m/s,
// slips up to lock and spin, every wheel still turning forward.
func moving(t *rapid.T) (State, Input) {
	number := func(name string, low, high float64) float64 { return rapid.Float64Range(low, high).Draw(t, name) }
	s := State{
		Vx: number("vx", 1, 35), Vy: number("vy", -3, 3), YawRate: number("yaw rate", -4, 4),
		Heading: number("heading", -4, 4), X: number("x", -9, 9), Y: number("y", -9, 9),
	}
	in := Input{Steer: number("steer", -0.5, 0.5)}
	for i := range 4 {
		s.Wheel[i] = number("wheel", 0.1, 2) * s.Vx / small().WheelRadius
		s.Wheel[i] = max(s.Wheel[i], 1.01*SlipFloor/small().WheelRadius)
		in.Torque[i] = number("torque", -1, 1)
	}
	return s, in
}

// evaluated returns the rates and outputs of the model at a state under an input.
func evaluated(t require.TestingT, c Car, s State, in Input) (State, Output) {
	m, err := New(c)
	require.NoError(t, err)
	m.Reset(s)
	m.in = in
	m.steer = in.Steer
	turned := m.turned(in.Steer, 0)
	var d motion
	var dm [4]float64
	m.rates(&m.now, &m.motor, &turned, &d, &dm)
	rates := State{
		Vx: d[iVx], Vy: d[iVy], YawRate: d[iYaw], Heading: d[iHeading], X: d[iX], Y: d[iY],
		Wheel: [4]float64(d[iWheel:]), Torque: dm,
	}
	return rates, m.Output()
}

// TestEquations holds rates and outputs at random states to the second writing of
// the equations.
func TestEquations(t *testing.T) {
	c := small()
	rapid.Check(t, func(t *rapid.T) {
		s, in := moving(t)
		wantRates, want := equations(c, s, in)
		rates, got := evaluated(t, c, s, in)
		close := func(want, got, scale float64, what string) {
			assert.InDelta(t, want, got, 1e-11*scale, what)
		}
		close(wantRates.Vx, rates.Vx, 100, "vx'")
		close(wantRates.Vy, rates.Vy, 100, "vy'")
		close(wantRates.YawRate, rates.YawRate, 1000, "r'")
		close(wantRates.Heading, rates.Heading, 1, "heading'")
		close(wantRates.X, rates.X, 100, "x'")
		close(wantRates.Y, rates.Y, 100, "y'")
		close(want.LongitudinalAccel, got.LongitudinalAccel, 100, "ax")
		close(want.LateralAccel, got.LateralAccel, 100, "ay")
		close(want.YawAccel, got.YawAccel, 1000, "yaw acceleration")
		close(want.DragForce, got.DragForce, 100, "drag")
		for i := range 4 {
			close(wantRates.Wheel[i], rates.Wheel[i], 1e4, "w'")
			close(want.Load[i], got.Load[i], 100, "load")
			close(want.LongitudinalForce[i], got.LongitudinalForce[i], 100, "Fx")
			close(want.LateralForce[i], got.LateralForce[i], 100, "Fy")
			close(want.SlipRatio[i], got.SlipRatio[i], 100, "sx")
			close(want.LateralSlip[i], got.LateralSlip[i], 100, "sy")
			close(want.SlipPower[i], got.SlipPower[i], 1e4, "slip power")
			assert.Equal(t, in.Torque[i], got.Torque[i])
		}
	})
}

// TestPowerBalance holds the rate of change of the energy to what the motors put in
// less drag and slip, to rounding, and the slip power to be never negative.
func TestPowerBalance(t *testing.T) {
	c := small()
	rapid.Check(t, func(t *rapid.T) {
		s, in := moving(t)
		d, out := evaluated(t, c, s, in)
		energy := c.Mass*(s.Vx*d.Vx+s.Vy*d.Vy) + c.YawInertia*s.YawRate*d.YawRate
		power := -out.DragForce * s.Vx
		size := math.Abs(power)
		for i := range 4 {
			energy += c.WheelInertia * s.Wheel[i] * d.Wheel[i]
			power += in.Torque[i]*s.Wheel[i] - out.SlipPower[i]
			size += math.Abs(in.Torque[i]*s.Wheel[i]) + math.Abs(out.LongitudinalForce[i])*(s.Vx+c.WheelRadius*s.Wheel[i])
			assert.GreaterOrEqual(t, out.SlipPower[i], 0.0, "slip power of %v", Wheel(i))
		}
		assert.InDelta(t, power, energy, 1e-13*size)
	})
}

// TestFrictionEllipse keeps every tyre's force within the ellipse of its load, and on
// it at the peak of either direction.
func TestFrictionEllipse(t *testing.T) {
	c := small()
	most := 0.0
	rapid.Check(t, func(t *rapid.T) {
		s, in := moving(t)
		_, out := evaluated(t, c, s, in)
		for i := range 4 {
			k := c.Tyre.friction(out.Load[i])
			if out.Load[i] == 0 {
				assert.Zero(t, out.LongitudinalForce[i])
				assert.Zero(t, out.LateralForce[i])
				continue
			}
			use := math.Hypot(
				out.LongitudinalForce[i]/(c.Tyre.LongitudinalMu*k*out.Load[i]),
				out.LateralForce[i]/(c.Tyre.LateralMu*k*out.Load[i]))
			assert.LessOrEqual(t, use, 1+1e-14)
			most = max(most, use)
		}
	})
	assert.Greater(t, most, 0.99, "no state near the limit was drawn")
}

// TestPureSlip holds pure slip to the Magic Formula itself: straight running with
// slipping wheels, and wheels that roll freely sideways.
func TestPureSlip(t *testing.T) {
	c := small()
	for _, slip := range []float64{-0.5, -0.1, -0.02, -1e-6, 1e-6, 0.02, 0.1, 0.5} {
		s := State{Vx: 10}
		for i := range 4 {
			s.Wheel[i] = 10 / (1 - slip) / c.WheelRadius
		}
		_, out := evaluated(t, c, s, Input{})
		p := c.Tyre.LongitudinalMu * c.Tyre.friction(out.Load[0]) * out.Load[0]
		want := p * MagicFormula(slip, c.Tyre.LongitudinalB, c.Tyre.LongitudinalC, c.Tyre.LongitudinalE)
		assert.InEpsilon(t, want, out.LongitudinalForce[0], 1e-9, "slip %v", slip)
		assert.Zero(t, out.LateralForce[0])

		s = State{Vx: 10, Vy: 10 * slip}
		for i := range 4 {
			s.Wheel[i] = 10 / c.WheelRadius
		}
		_, out = evaluated(t, c, s, Input{})
		p = c.Tyre.LateralMu * c.Tyre.friction(out.Load[2]) * out.Load[2]
		want = -p * MagicFormula(slip, c.Tyre.LateralB, c.Tyre.LateralC, c.Tyre.LateralE)
		assert.InEpsilon(t, want, out.LateralForce[2], 1e-9, "lateral slip %v", slip)
		assert.InDelta(t, 0, out.LongitudinalForce[2], 1e-12)
	}
}
