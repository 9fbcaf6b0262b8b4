package stand

import (
	"math"

	"hilrig/plant/portable"
	"hilrig/rig/signal"
)

// shaft is motor and disc in motion.
type shaft struct {
	motor   *Motor
	held    Held
	inertia float64

	angle, speed float64 // rad, in one turn; rad/s
	// smooth says that speed and angle are those without the cogging torque's ripple.
	smooth      bool
	smoothAbove float64 // rad/s
	reaction    float64 // N m that the brake took in the last step
}

// newShaft returns a shaft at rest.
func newShaft(s *Settings, angle float64) shaft {
	f := shaft{motor: &s.Motor, held: s.Held, inertia: s.Load.Inertia, angle: angle}
	if f.motor.Cogging > 0 {
		// From here on the cogging torque moves the speed by less than a hundredth.
		f.smoothAbove = math.Sqrt(100 * f.motor.Cogging / (f.inertia * float64(f.motor.CoggingPeriods)))
	}
	return f
}

// cog returns the cogging torque at the shaft's angle, and by how much it grows with the angle.
func (f *shaft) cog() (torque, slope float64) {
	if f.motor.Cogging == 0 {
		return 0, 0
	}
	n := float64(f.motor.CoggingPeriods)
	sin, cos := portable.SinCos(n * f.angle)
	return f.motor.Cogging * sin, f.motor.Cogging * n * cos
}

// choose decides whether the ripple is followed step by step, and changes over so that energy is kept: that
// of the cogging torque, and what the torque steady does on the way from one angle to the other.
func (f *shaft) choose(steady float64) {
	v := math.Abs(f.speed)
	if f.motor.Cogging == 0 || f.smooth == (v >= f.smoothAbove) || f.smooth && v >= 0.9*f.smoothAbove {
		return
	}
	if v == 0 { // it was stopped at once
		f.smooth = false
		return
	}
	n, fast := float64(f.motor.CoggingPeriods), max(v, 0.9*f.smoothAbove)
	sin, cos := portable.SinCos(n * f.angle)
	ahead := f.motor.Cogging / (f.inertia * n * n * fast * fast) * sin
	energy := 2 * (float64(f.motor.Cogging/n*cos) + float64(steady*ahead)) / f.inertia
	if f.smooth {
		ahead, energy = -ahead, -energy
	}
	f.smooth = !f.smooth
	f.angle += float64(ahead)
	f.speed = math.Copysign(math.Sqrt(max(float64(v*v)+float64(energy), 0)), f.speed)
}

// ripple returns by how many rad the cogging torque holds the shaft back where it drives it most.
func (f *shaft) ripple() float64 {
	if !f.smooth {
		return 0
	}
	n, speed := float64(f.motor.CoggingPeriods), max(math.Abs(f.speed), 0.9*f.smoothAbove)
	return f.motor.Cogging / (f.inertia * n * n * speed * speed)
}

// friction returns the torque of friction at the shaft's speed, which is not 0.
func (f *shaft) friction() float64 {
	return -math.Copysign(f.motor.Coulomb, f.speed) - float64(f.motor.Viscous*f.speed)
}

// turn returns how the shaft goes on for one step under a torque that falls by slope with speed,
// and has it do so but for its angle.
func (f *shaft) turn(torque, slope float64) motion {
	const h = float64(step) / 1e9
	f.reaction = 0
	if f.held.Kind == Locked {
		pull, _ := f.cog()
		f.reaction = torque + pull
		return motion{angle: f.angle, lasts: h}
	}
	f.choose(torque + f.friction())
	m := motion{angle: f.angle, lasts: h}
	pull, stiffness := 0.0, 0.0
	if !f.smooth {
		pull, stiffness = f.cog()
	}
	sense := math.Copysign(1, f.speed)
	if f.speed == 0 {
		if math.Abs(torque+pull) <= f.motor.Stiction {
			return m
		}
		sense = math.Copysign(1, torque+pull)
	}
	steady := torque - float64(sense*f.motor.Coulomb) - float64(f.motor.Viscous*f.speed)
	m.speed = f.speed
	if f.held.Kind == AtSpeed && math.Abs(f.speed) >= f.held.Speed && steady*sense >= 0 {
		f.reaction = steady
		return m
	}
	a := (steady + pull) / f.inertia
	b := (slope + f.motor.Viscous) / f.inertia
	jerk := float64(stiffness*f.speed)/f.inertia - float64(b*a)
	m.half, m.sixth, m.fourth = float64(a/2), jerk/6, -float64(b*jerk)/24
	speed := m.speedAt(h)
	switch {
	case speed*sense <= 0:
		m.stop()
		speed = 0
	case f.held.Kind == AtSpeed && speed*sense > f.held.Speed:
		speed = math.Copysign(f.held.Speed, speed)
	}
	f.speed = speed
	return m
}

// stop has a motion end where its speed is 0.
func (m *motion) stop() {
	t := 0.0
	if m.half != 0 {
		t = min(max(-m.speed/(2*m.half), 0), m.lasts)
	}
	m.lasts = t
}

// hand is the person who spins the stand up while the throttle is silent.
type hand struct {
	speeds []float64
	next   int
	spins  bool        // the hand is at the disc
	since  signal.Time // since when the shaft has been left alone
}

// The hand's ways: how long the throttle is silent, and the shaft left alone, before it spins; how
// long it takes; down to which share of its speed it lets the shaft coast.
const (
	handWaits  = 500 * signal.Millisecond
	handTakes  = 1.0 // s
	handCoasts = 0.02
)

// acts says whether the hand is at the disc, and returns its acceleration in rad/s2.
func (h *hand) acts(at, heard signal.Time, speed float64) (acceleration float64, spins bool) {
	if len(h.speeds) == 0 || at-heard < handWaits {
		h.spins, h.since = false, at
		return 0, false
	}
	wanted := h.speeds[min(h.next, len(h.speeds)-1)]
	switch {
	case h.spins && math.Abs(speed) >= math.Abs(wanted):
		h.spins, h.since = false, at
		h.next++
	case !h.spins && h.next < len(h.speeds):
		if h.next > 0 && math.Abs(speed) > handCoasts*math.Abs(h.speeds[h.next-1]) {
			h.since = at
		}
		h.spins = at-h.since >= handWaits
	}
	return wanted / handTakes, h.spins
}

// pushed returns how the shaft goes on for one step in a hand that accelerates it.
func (f *shaft) pushed(acceleration float64) motion {
	const h = float64(step) / 1e9
	f.smooth, f.reaction = false, 0
	m := motion{angle: f.angle, speed: f.speed, half: float64(acceleration / 2), lasts: h}
	f.speed = m.speedAt(h)
	return m
}
