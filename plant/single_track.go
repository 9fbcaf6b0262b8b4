package plant

import "math"

// SingleTrack is the linear single-track model: front and rear wheels drawn
// together on the centre line, small angles, constant speed. Its states are the
// sideslip angle beta at the centre of gravity (rad) and the yaw rate (rad/s). All
// speeds below are in m/s and above 0.
type SingleTrack struct {
	Mass           float64 // kg
	YawInertia     float64 // kg m^2
	FrontAxle      float64 // m, centre of gravity to front axle, "a"
	RearAxle       float64 // m, centre of gravity to rear axle, "b"
	FrontStiffness float64 // N/rad, of both front tyres together, positive
	RearStiffness  float64 // N/rad, of both rear tyres together, positive
}

// SingleTrack returns the linear model that the car tends to at small slip angles,
// small accelerations and low speed: static loads, no aerodynamic lift.
func (c Car) SingleTrack() SingleTrack {
	k := c.constants()
	t := &c.Tyre
	slope := 2 * t.LateralB * t.LateralC * t.LateralMu
	return SingleTrack{
		Mass: c.Mass, YawInertia: c.YawInertia, FrontAxle: c.FrontAxle, RearAxle: c.RearAxle,
		FrontStiffness: slope * k.staticFront * t.friction(k.staticFront),
		RearStiffness:  slope * k.staticRear * t.friction(k.staticRear),
	}
}

// Wheelbase is the distance of the axles in m.
func (s SingleTrack) Wheelbase() float64 { return s.FrontAxle + s.RearAxle }

// UndersteerGradient is the steer that each m/s^2 of lateral acceleration takes
// beyond that of the turn's geometry, in rad/(m/s^2); positive for understeer. It is
// 0, and the car neutral, when the axles' shares differ by less than 1e-9 of them.
func (s SingleTrack) UndersteerGradient() float64 {
	front, rear := s.RearAxle/s.FrontStiffness, s.FrontAxle/s.RearStiffness
	if math.Abs(front-rear) < 1e-9*front {
		return 0
	}
	return s.Mass / s.Wheelbase() * (front - rear)
}

// CharacteristicSpeed is where an understeering car answers the steer with the most
// yaw rate, in m/s; +Inf for a neutral car, NaN for an oversteering one.
func (s SingleTrack) CharacteristicSpeed() float64 {
	return math.Sqrt(s.Wheelbase() / s.UndersteerGradient())
}

// CriticalSpeed is where an oversteering car becomes unstable, in m/s; +Inf for a
// neutral car, NaN for an understeering one.
func (s SingleTrack) CriticalSpeed() float64 {
	k := s.UndersteerGradient()
	if k == 0 {
		return math.Inf(1)
	}
	return math.Sqrt(-s.Wheelbase() / k)
}

// YawGain is the steady yaw rate over the steer, in 1/s.
func (s SingleTrack) YawGain(speed float64) float64 {
	return speed / s.stretched(speed)
}

// LateralGain is the steady lateral acceleration over the steer, in m/s^2 per rad.
func (s SingleTrack) LateralGain(speed float64) float64 {
	return speed * speed / s.stretched(speed)
}

// BetaGain is the steady sideslip angle over the steer, without unit.
func (s SingleTrack) BetaGain(speed float64) float64 {
	slip := s.FrontAxle * s.Mass * speed * speed / (s.Wheelbase() * s.RearStiffness)
	return (s.RearAxle - float64(slip)) / s.stretched(speed)
}

// stretched is the wheelbase plus the understeer gradient times the speed squared.
func (s SingleTrack) stretched(speed float64) float64 {
	return s.Wheelbase() + float64(s.UndersteerGradient()*speed*speed)
}

// NaturalFrequency is the undamped natural frequency of sideslip and yaw in rad/s;
// NaN when the car is unstable.
func (s SingleTrack) NaturalFrequency(speed float64) float64 {
	_, det := s.invariants(speed)
	return math.Sqrt(det)
}

// Damping is the damping ratio of sideslip and yaw; NaN when the car is unstable.
func (s SingleTrack) Damping(speed float64) float64 {
	trace, det := s.invariants(speed)
	return -trace / (2 * math.Sqrt(det))
}

// Tz is the lead time of the yaw rate's answer to the steer, in s:
// r/steer = YawGain (1 + Tz s)/(1 + 2 zeta s/wn + s^2/wn^2).
func (s SingleTrack) Tz(speed float64) float64 {
	return s.Mass * speed * s.FrontAxle / (s.Wheelbase() * s.RearStiffness)
}

// Matrix is the system matrix of (beta, yaw rate) and the column of the steer.
func (s SingleTrack) Matrix(speed float64) (a [2][2]float64, b [2]float64) {
	return s.loaded(s.FrontStiffness, s.RearStiffness, speed)
}

func (s SingleTrack) loaded(cf, cr, speed float64) (a [2][2]float64, b [2]float64) {
	mv, iz := float64(s.Mass*speed), s.YawInertia
	turn := float64(s.RearAxle*cr) - float64(s.FrontAxle*cf)
	a[0][0] = -(cf + cr) / mv
	a[0][1] = turn/(mv*speed) - 1
	a[1][0] = turn / iz
	a[1][1] = -(float64(s.FrontAxle*s.FrontAxle*cf) + float64(s.RearAxle*s.RearAxle*cr)) / (iz * speed)
	b[0] = cf / mv
	b[1] = s.FrontAxle * cf / iz
	return a, b
}

func (s SingleTrack) invariants(speed float64) (trace, det float64) {
	a, _ := s.Matrix(speed)
	return a[0][0] + a[1][1], float64(a[0][0]*a[1][1]) - float64(a[0][1]*a[1][0])
}

// Eigenvalues are those of sideslip and yaw in 1/s: a pair with the negative
// imaginary part first, or two real ones with the smaller first.
func (s SingleTrack) Eigenvalues(speed float64) [2]complex128 {
	a, _ := s.Matrix(speed)
	mean := float64(0.5 * (a[0][0] + a[1][1]))
	half := float64(0.5 * (a[0][0] - a[1][1]))
	d := float64(half*half) + float64(a[0][1]*a[1][0])
	if d < 0 {
		w := math.Sqrt(-d)
		return [2]complex128{complex(mean, -w), complex(mean, w)}
	}
	w := math.Sqrt(d)
	return [2]complex128{complex(mean-w, 0), complex(mean+w, 0)}
}

// Derivative returns the rates of change of beta (rad/s) and yaw rate (rad/s^2).
func (s SingleTrack) Derivative(speed, beta, yawRate, steer float64) (betaRate, yawAccel float64) {
	a, b := s.Matrix(speed)
	return apply(a, b, beta, yawRate, steer)
}

// DerivativeAccelerating is Derivative while the car gains speed at accel (m/s^2),
// which moves load over the height of the centre of gravity (m) from the front to the
// rear axle; the stiffnesses are those at constant speed and go with the load.
// gravity is in m/s^2.
func (s SingleTrack) DerivativeAccelerating(speed, accel, height, gravity, beta, yawRate, steer float64) (betaRate, yawAccel float64) {
	share := accel * height / gravity
	a, b := s.loaded(
		s.FrontStiffness*(1-share/s.RearAxle),
		s.RearStiffness*(1+share/s.FrontAxle), speed)
	return apply(a, b, beta, yawRate, steer)
}

func apply(a [2][2]float64, b [2]float64, beta, yawRate, steer float64) (betaRate, yawAccel float64) {
	return float64(a[0][0]*beta) + float64(a[0][1]*yawRate) + float64(b[0]*steer),
		float64(a[1][0]*beta) + float64(a[1][1]*yawRate) + float64(b[1]*steer)
}

// StepResponse returns beta (rad) and yaw rate (rad/s) at count times, dt (s)
// apart and the first at 0, after a steer that goes from 0 to 1 rad over the time rise
// (s), at once when rise is 0. It integrates with Runge-Kutta's method at dt, and
// lands on the end of the rise exactly when that is a multiple of dt.
func (s SingleTrack) StepResponse(speed, rise, dt float64, count int) (beta, yawRate []float64) {
	a, b := s.Matrix(speed)
	steer := func(t float64) float64 {
		if rise == 0 {
			return 1
		}
		return min(1, t/rise)
	}
	half := float64(0.5 * dt)
	x, r := 0.0, 0.0
	for i := range count {
		beta, yawRate = append(beta, x), append(yawRate, r)
		t := float64(float64(i) * dt)
		d0, d1, d2 := steer(t), steer(t+half), steer(t+dt)
		x1, r1 := apply(a, b, x, r, d0)
		x2, r2 := apply(a, b, x+float64(half*x1), r+float64(half*r1), d1)
		x3, r3 := apply(a, b, x+float64(half*x2), r+float64(half*r2), d1)
		x4, r4 := apply(a, b, x+float64(dt*x3), r+float64(dt*r3), d2)
		x += float64(dt / 6 * (x1 + float64(2*x2) + float64(2*x3) + x4))
		r += float64(dt / 6 * (r1 + float64(2*r2) + float64(2*r3) + r4))
	}
	return beta, yawRate
}
