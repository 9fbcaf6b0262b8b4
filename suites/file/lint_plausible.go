package file

import (
	"cmp"
	"fmt"
	"math"

	"hilrig/suites/language"
)

// usual is a number of a car and where it lies for cars of such a size.
type usual struct {
	key              string // where it is written
	name             string // what it is
	quantity         language.Quantity
	value, low, high float64
	of               string // which cars
	remedy           string
}

// implausible returns what of a car's written numbers no car of its size has, each as a warning: most are slips of a unit, a
// diameter for a radius, or a motor's numbers at its shaft for those at the wheel.
//
// The bounds are common practice, no source: what full-size cars and models of 1:28 to 1:5 have, and half as much again on
// either side at least. Mass goes with the cube of the wheelbase, as cars of all sizes are mostly air.
func (c *Car) implausible() (odd language.Warnings) {
	p := &c.Car
	base := p.FrontAxle + p.RearAxle
	box := p.Mass * p.FrontAxle * p.RearAxle // a car with so much inertia turns about its axles as two masses on them would
	sized := "a car with a wheelbase of " + language.Length.Format(base)
	stall := cmp.Or(p.Motor.TorqueLimit, p.Motor.StallTorque)
	all := []usual{
		{"mass", "mass", language.Mass, p.Mass, 20 * base * base * base, 500 * base * base * base, sized, "weigh it again, and look at both units"},
		{"wheel_radius", "wheel_radius", language.Length, p.WheelRadius, 0.05 * base, 0.35 * base, sized, "write the radius and not the diameter, and look at both units"},
		{cmp.Or(c.trackKey(), "track"), "the track", language.Length, (p.FrontTrack + p.RearTrack) / 2, 0.35 * base, 1.6 * base, sized, "measure from the middle of a left tread to that of the right one"},
		{"yaw_inertia", "yaw_inertia", language.Inertia, p.YawInertia, 0.3 * box, 4 * box, "a car of such a mass and wheelbase", "leave it out, and it is worked out from them"},
		{"motor", "the top speed by no_load_speed", language.Speed, p.Motor.NoLoadSpeed * p.WheelRadius, 2, 60, "a small car", "give the speed of the wheel, behind the gears, at full command"},
		{"motor", "the push of all four motors by their torque", language.Acceleration, 4 * stall / p.WheelRadius / p.Mass, 0.1 * standardGravity, 15 * standardGravity, "a car", "give the torque at the wheel, behind the gears"},
	}
	if d := c.Policy.Demand; d != nil {
		ends := p.Steering.Points
		most := math.Max(math.Abs(ends[0].Left), math.Abs(ends[len(ends)-1].Right)) / (p.Tyre.LateralMu * standardGravity)
		all = append(all, usual{"understeer_gradient", "understeer_gradient", language.UndersteerGradient, d.UndersteerGradient, -most, most,
			"a car that can steer what it asks for at the grip of its tyres", "write rad/(m/s2), or look at the formula in the firmware"})
	}
	for _, u := range all {
		at := c.measured[u.key]
		if at.Line == 0 || u.value >= u.low && u.value <= u.high {
			continue
		}
		odd = append(odd, c.Source.Shown(language.Problem{Place: at, Level: language.Warning,
			Message: fmt.Sprintf("%s is %s, and %s has %s to %s", u.name, u.quantity.Format(u.value), u.of, u.quantity.Format(roughly(u.low)), u.quantity.Format(roughly(u.high))),
			Remedy:  u.remedy + ", unless it is so"}))
	}
	return odd
}

// trackKey is the key that the track is written at; empty: at none.
func (c *Car) trackKey() string {
	for _, key := range []string{"track", "front_track"} {
		if c.measured[key].Line > 0 {
			return key
		}
	}
	return ""
}

// roughly leaves two digits of a number.
func roughly(x float64) float64 {
	step := 1.0
	for step > math.Abs(x)/10 && step > 1e-9 {
		step /= 10
	}
	for step*100 <= math.Abs(x) {
		step *= 10
	}
	return math.Round(x/step) * step
}
