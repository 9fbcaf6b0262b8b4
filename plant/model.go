package plant

import (
	"math"

	"hilrig/plant/portable"
)

// Places of the motion in a motion vector.
const (
	iVx = iota
	iVy
	iYaw
	iHeading
	iX
	iY
	iWheel
	motionSize = iWheel + 4
)

// motion is the part of the state that is integrated.
type motion [motionSize]float64

// turn is the sines and cosines of both front wheels' angles.
type turn struct {
	angle    [2]float64
	sin, cos [2]float64
}

// Model is a car in motion. It is not for several goroutines at once.
type Model struct {
	k      constants
	car    Car
	line   SteerLine
	now    motion
	motor  [4]float64 // torques the motors have reached
	steer  float64    // angle the servo has reached
	in     Input
	bumped bool       // a wheel is unloaded
	mf     [8]float64 // the curves of the four wheels, longitudinal then lateral
	force  contact
}

// New returns the car at rest. Its errors, all of them joined, name the field, its
// value and what to write instead.
func New(c Car) (*Model, error) {
	if err := c.Validate(); err != nil {
		return nil, err
	}
	c.Steering.Points = append([]SteerPoint(nil), c.Steering.Points...)
	return &Model{k: c.constants(), car: c, line: c.Steering.Line()}, nil
}

// Car returns the car that the model was made of.
func (m *Model) Car() Car { return m.car }

// Reset sets the state and forgets the last input.
func (m *Model) Reset(s State) {
	m.now = motion{s.Vx, s.Vy, s.YawRate, s.Heading, s.X, s.Y, s.Wheel[0], s.Wheel[1], s.Wheel[2], s.Wheel[3]}
	m.steer, m.motor = s.Steer, s.Torque
	m.in = Input{}
}

// State returns the state; Reset with it goes on from here with the same bits.
func (m *Model) State() State {
	n := &m.now
	return State{
		Vx: n[iVx], Vy: n[iVy], YawRate: n[iYaw], Heading: n[iHeading], X: n[iX], Y: n[iY],
		Wheel: [4]float64{n[iWheel], n[iWheel+1], n[iWheel+2], n[iWheel+3]},
		Steer: m.steer, Torque: m.motor,
	}
}

// Output returns what could be measured now, under the input of the last step. It
// evaluates the model once, a quarter of a step's work.
func (m *Model) Output() Output {
	var d motion
	var dm [4]float64
	t := m.turned(m.steer, 0)
	m.force.ax, m.force.ay = 0, 0
	m.rates(&m.now, &m.motor, &t, &d, &dm)
	f := &m.force
	out := Output{
		LongitudinalAccel: f.ax, LateralAccel: f.ay, YawAccel: d[iYaw],
		SteerAngle: t.angle, Load: f.load,
		Torque: f.torque, SlipRatio: f.sx, LateralSlip: f.sy,
		DragForce: m.k.drag * m.now[iVx] * math.Abs(m.now[iVx]),
	}
	for i := range 4 {
		p := f.load[i] * m.car.Tyre.friction(f.load[i])
		out.LongitudinalForce[i] = p * f.gx[i]
		out.LateralForce[i] = p * f.gy[i]
		out.SlipPower[i] = float64(out.LongitudinalForce[i]*(float64(m.k.radius*m.now[iWheel+i])-f.wx[i])) -
			float64(out.LateralForce[i]*f.wy[i])
	}
	return out
}

// pulseFor returns the steering pulse (s) of a mean wheel angle (rad).
func (m *Model) pulseFor(mean float64) float64 {
	if m.car.Steering.ByTable {
		return m.car.Steering.pulse(mean)
	}
	return m.line.PulseFor(mean)
}

// turned returns the front wheels' angles a time after the servo stood at from.
func (m *Model) turned(from, after float64) turn {
	mean := m.in.Steer
	if m.k.servo {
		mean = m.car.Servo.angle(from, mean, after)
	}
	t := turn{angle: [2]float64{mean, mean}}
	if m.k.steering {
		t.angle[0], t.angle[1] = m.car.Steering.Angles(m.pulseFor(mean))
	}
	t.sin[0], t.cos[0] = portable.SinCos(t.angle[0])
	if t.angle[1] == t.angle[0] {
		t.sin[1], t.cos[1] = t.sin[0], t.cos[0]
	} else {
		t.sin[1], t.cos[1] = portable.SinCos(t.angle[1])
	}
	return t
}
