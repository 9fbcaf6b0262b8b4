package stimulus

import "hilrig/rig/signal"

// Values are the played quantities at one time.
type Values struct {
	Speed    float64 // m/s, at the centre of gravity, along x
	YawRate  float64 // rad/s
	Steer    float64 // rad, mean of both front wheels
	Throttle float64 // 0..1 or -1..1
	Gain     float64 // 0..1
}

// Program is what is played in one case.
type Program struct {
	Speed, YawRate, Steer, Throttle, Gain Track

	// Wheels override the wheels' speeds in rad/s, in the order front left, front right, rear
	// left, rear right. Where nil or NaN, a wheel turns as its hub goes along.
	Wheels [4]*Track

	// Slip is by what share of the rate at which it would roll freely each wheel turns faster, in the same order, where
	// it is not overridden: 0.2 is a fifth faster, -1 a wheel that stands. nil: 0.
	Slip [4]*Track

	Length signal.Time

	// Closed says that from Release on the board's commands drive the car's model, whose
	// speed and yaw rate are played then instead of the tracks.
	Closed  bool
	Release signal.Time

	Faults []Fault    // what is wrong with which wire, when
	Bumps  []Bump     // in closed loop
	Moves  []GridMove // in order of At
}

// Held returns a program that keeps v for length.
func Held(v Values, length signal.Time) *Program {
	p := &Program{Length: length}
	p.Speed.Hold(0, v.Speed)
	p.YawRate.Hold(0, v.YawRate)
	p.Steer.Hold(0, v.Steer)
	p.Throttle.Hold(0, v.Throttle)
	p.Gain.Hold(0, v.Gain)
	return p
}

// Values returns the values at t.
func (p *Program) Values(t signal.Time) Values {
	return Values{
		Speed:    p.Speed.At(t),
		YawRate:  p.YawRate.At(t),
		Steer:    p.Steer.At(t),
		Throttle: p.Throttle.At(t),
		Gain:     p.Gain.At(t),
	}
}
