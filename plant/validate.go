package plant

import (
	"errors"
	"fmt"
	"math"

	"hilrig/plant/portable"
)

// Validate returns what keeps the car from being modelled, all of it joined, or nil.
func (c Car) Validate() error {
	var v faults
	v.positive("Mass", c.Mass, "kg")
	v.positive("YawInertia", c.YawInertia, "kg m^2")
	v.positive("FrontAxle", c.FrontAxle, "m")
	v.positive("RearAxle", c.RearAxle, "m")
	v.positive("FrontTrack", c.FrontTrack, "m")
	v.positive("RearTrack", c.RearTrack, "m")
	v.positive("WheelRadius", c.WheelRadius, "m")
	v.positive("WheelInertia", c.WheelInertia, "kg m^2")
	v.atLeast0("CGHeight", c.CGHeight, "m")
	if track := min(c.FrontTrack, c.RearTrack); track > 0 && c.CGHeight > track {
		v.add("CGHeight", c.CGHeight, "use at most the smaller track, %g m; a higher car tips, which the model cannot", track)
	}
	v.between("RollShare", c.RollShare, 0, 1)
	v.atLeast0("Gravity", c.Gravity, "m/s^2, or leave it 0 for 9.80665")
	v.atLeast0("AirDensity", c.AirDensity, "kg/m^3, or leave it 0 for 1.225")
	v.atLeast0("Aero.DragArea", c.Aero.DragArea, "m^2")
	v.finite("Aero.FrontLiftArea", c.Aero.FrontLiftArea)
	v.finite("Aero.RearLiftArea", c.Aero.RearLiftArea)
	c.Tyre.validate(&v)
	c.Motor.validate(&v)
	v.atLeast0("Servo.Rate", c.Servo.Rate, "rad/s, or leave it 0 for no limit")
	v.atLeast0("Servo.Lag", c.Servo.Lag, "s, or leave it 0 for none")
	c.Steering.validate(&v)
	return errors.Join(v...)
}

func (t Tyre) validate(v *faults) {
	v.curve("Tyre.Longitudinal", t.LongitudinalB, t.LongitudinalC, t.LongitudinalE)
	v.curve("Tyre.Lateral", t.LateralB, t.LateralC, t.LateralE)
	v.positive("Tyre.LongitudinalMu", t.LongitudinalMu, "the friction at the peak")
	v.positive("Tyre.LateralMu", t.LateralMu, "the friction at the peak")
	v.between("Tyre.LoadSensitivity", t.LoadSensitivity, 0, 1)
	if t.LoadSensitivity > 0 {
		v.positive("Tyre.Load", t.Load, "N, the load at which the friction is given")
	}
}

func (m Motor) validate(v *faults) {
	v.atLeast0("Motor.StallTorque", m.StallTorque, "N m, or leave it 0 for no motor model")
	if m.StallTorque > 0 {
		v.positive("Motor.NoLoadSpeed", m.NoLoadSpeed, "rad/s of the wheel")
	}
	v.atLeast0("Motor.TorqueLimit", m.TorqueLimit, "N m, or leave it 0 for no limit")
	v.between("Motor.DragBrake", m.DragBrake, 0, 1)
	if t := m.TorqueLagTau; t != 0 && !(t >= shortestLag && t <= math.MaxFloat64) {
		v.add("Motor.TorqueLagTau", t, "use 0 for none or at least %g s, which a step of 1 ms can follow", shortestLag)
	}
}

// shortestLag is the shortest lag (s) that a step of 1 ms can follow.
const shortestLag = 0.0005

func (s Steering) validate(v *faults) {
	if len(s.Points) == 0 {
		return
	}
	if len(s.Points) == 1 {
		v.add("Steering.Points", 1, "give at least two points, or none to steer exactly as asked")
		return
	}
	for i, p := range s.Points {
		name := fmt.Sprintf("Steering.Points[%d]", i)
		v.positive(name+".Pulse", p.Pulse, "s, rising from point to point")
		if i > 0 && p.Pulse <= s.Points[i-1].Pulse {
			v.add(name+".Pulse", p.Pulse, "sort the points by rising pulse, each pulse once")
		}
		v.angle(name+".Left", p.Left)
		v.angle(name+".Right", p.Right)
	}
	if s.Line().Slope == 0 {
		v.add("Steering.Points", len(s.Points), "give angles that change with the pulse; their line is level")
	}
}

// faults collects what is wrong.
type faults []error

func (v *faults) add(field string, value any, remedy string, args ...any) {
	*v = append(*v, fmt.Errorf("%s is %v: %s", field, value, fmt.Sprintf(remedy, args...)))
}

func (v *faults) positive(field string, x float64, unit string) {
	if !(x > 0 && x <= math.MaxFloat64) {
		v.add(field, x, "use a number above 0 (%s)", unit)
	}
}

func (v *faults) atLeast0(field string, x float64, unit string) {
	if !(x >= 0 && x <= math.MaxFloat64) {
		v.add(field, x, "use 0 or more (%s)", unit)
	}
}

func (v *faults) between(field string, x, low, high float64) {
	if !(x >= low && x <= high) {
		v.add(field, x, "use a number from %g to %g", low, high)
	}
}

func (v *faults) finite(field string, x float64) {
	if math.IsNaN(x) || math.IsInf(x, 0) {
		v.add(field, x, "use a finite number")
	}
}

func (v *faults) angle(field string, x float64) {
	if !(math.Abs(x) < math.Pi/2) {
		v.add(field, x, "use an angle within a quarter turn (rad)")
	}
}

// curve checks one Magic Formula: it must have a peak, and must not change its sign
// at large slip, or the tyre would drive the car by sliding.
func (v *faults) curve(field string, b, c, e float64) {
	v.positive(field+"B", b, "the stiffness factor, about 5 to 20")
	if !(c > 1 && c <= 4) {
		v.add(field+"C", c, "use a shape factor above 1, about 1.2 to 2, so that the curve has a peak")
		return
	}
	if !(e <= 1 && e >= -math.MaxFloat64) {
		v.add(field+"E", e, "use a curvature factor of 1 or less")
		return
	}
	end := math.Pi / 2
	if e == 1 {
		end = portable.Atan(end)
	}
	if c*end > math.Pi {
		v.add(field+"C", c, "use at most %.3g with this E, or the force turns its sign at large slip", math.Pi/end)
	}
	if b > 0 && math.IsNaN(PeakSlip(b, c, e)) {
		v.add(field+"E", e, "use a smaller curvature factor or a larger C: the curve never reaches its peak")
	}
}
