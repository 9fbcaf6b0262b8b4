package plant

import "math"

// SlipFloor is the rim speed in m/s below which slips are taken over it instead of
// over the rim speed.
const SlipFloor = 0.2

const (
	standardGravity = 9.80665 // m/s^2, ISO 80000-3
	standardAir     = 1.225   // kg/m^3, ISO 2533 at sea level

	// The largest product of the step and the fastest rate of decay that one
	// Runge-Kutta step is taken over; its limit is 2.785. Loads may nearly double.
	stepBound = 1.5
	mostParts = 256
)

// constants is what the equations need of a car, worked out once.
type constants struct {
	mass, perMass, perYawInertia    float64
	frontAxle, rearAxle             float64
	halfFront, halfRear             float64 // halves of the tracks
	radius, perWheelInertia         float64
	bx, cx, ex, by, cy, ey          float64 // Magic Formula, B times peak slip
	mux, muy                        float64
	perPeakX, perPeakY              float64
	curved                          bool    // E is not 0
	sensitivity, perLoad            float64 // k = 1 + sensitivity - perLoad Fz
	staticFront, staticRear         float64 // N, load of one wheel
	liftFront, liftRear, drag       float64 // N over vx^2, lift of one wheel
	pitch, rollFront, rollRear      float64 // kg, load of one wheel over ax and ay
	stiffness                       float64 // m/s^2: over the speed, the fastest rate of decay
	motor, servo, steering, lagging bool
	perLag                          float64
}

func (c *Car) constants() constants {
	t := &c.Tyre
	wheelbase := c.FrontAxle + c.RearAxle
	g, air := c.Gravity, c.AirDensity
	if g == 0 {
		g = standardGravity
	}
	if air == 0 {
		air = standardAir
	}
	px, py := t.peaks()
	k := constants{
		mass: c.Mass, perMass: 1 / c.Mass, perYawInertia: 1 / c.YawInertia,
		frontAxle: c.FrontAxle, rearAxle: c.RearAxle,
		halfFront: c.FrontTrack / 2, halfRear: c.RearTrack / 2,
		radius: c.WheelRadius, perWheelInertia: 1 / c.WheelInertia,
		bx: t.LongitudinalB * px, cx: t.LongitudinalC, ex: t.LongitudinalE,
		by: t.LateralB * py, cy: t.LateralC, ey: t.LateralE,
		mux: t.LongitudinalMu, muy: t.LateralMu,
		perPeakX: 1 / px, perPeakY: 1 / py,
		curved:      t.LongitudinalE != 0 || t.LateralE != 0,
		staticFront: c.Mass * g * c.RearAxle / wheelbase / 2,
		staticRear:  c.Mass * g * c.FrontAxle / wheelbase / 2,
		liftFront:   air * c.Aero.FrontLiftArea / 4,
		liftRear:    air * c.Aero.RearLiftArea / 4,
		drag:        air * c.Aero.DragArea / 2,
		pitch:       c.Mass * c.CGHeight / wheelbase / 2,
		rollFront:   c.RollShare * c.Mass * c.CGHeight / c.FrontTrack,
		rollRear:    (1 - c.RollShare) * c.Mass * c.CGHeight / c.RearTrack,
		motor:       c.Motor.StallTorque > 0,
		servo:       c.Servo.Rate > 0 || c.Servo.Lag > 0,
		steering:    len(c.Steering.Points) > 0,
	}
	if t.LoadSensitivity > 0 {
		k.sensitivity = t.LoadSensitivity
		k.perLoad = t.LoadSensitivity / t.Load
	}
	if k.motor && c.Motor.TorqueLagTau > 0 {
		k.lagging = true
		k.perLag = 1 / c.Motor.TorqueLagTau
	}
	k.stiffness = c.stiffness(k.staticFront, k.staticRear)
	return k
}

// stiffness returns the fastest rate of decay, times the speed, that the car has
// under its static loads: of a wheel's slip, or of sideslip and yaw together.
func (c *Car) stiffness(front, rear float64) float64 {
	t := &c.Tyre
	bcx := float64(t.LongitudinalB * t.LongitudinalC * t.LongitudinalMu)
	bcy := float64(t.LateralB * t.LateralC * t.LateralMu)
	front = float64(front * t.friction(front))
	rear = float64(rear * t.friction(rear))
	wheel := bcx * max(front, rear) * c.WheelRadius * c.WheelRadius / c.WheelInertia
	body := float64(2*bcy*(front+rear))/c.Mass +
		float64(2*bcy*(float64(front*c.FrontAxle*c.FrontAxle)+float64(rear*c.RearAxle*c.RearAxle)))/c.YawInertia
	return max(wheel, body)
}

// parts returns into how many equal parts a step is divided so that the fastest
// decay is followed.
func (k *constants) parts(radiusRate, speed, dt float64) int {
	n := math.Ceil(k.stiffness * dt / (stepBound * max(radiusRate, speed, SlipFloor)))
	if !(n < mostParts) {
		return mostParts
	}
	return max(1, int(n))
}
