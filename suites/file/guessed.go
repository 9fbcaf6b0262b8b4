package file

import "hilrig/suites/language"
import "hilrig/plant"

// fill reads the full form of a car, and fills in what the file leaves out. The
// rules are common practice for small cars, no source. The yaw inertia is that
// of a uniform box as long as the wheelbase and as wide as the track,
// m (l^2 + t^2) / 12.
func (c *Car) fill(v *language.Mapping) {
	p := &c.Car
	base, track := v.Number("wheelbase"), (p.FrontTrack+p.RearTrack)/2
	front := c.guess(v, "weight_front", language.Share, 0.5, "centre of gravity midway between the axles")
	p.RearAxle = float64(base * front)
	p.FrontAxle = base - p.RearAxle
	square := float64(base*base) + float64(track*track)
	p.YawInertia = c.guess(v, "yaw_inertia", language.Inertia, p.Mass*square/12, "mass, wheelbase and track of a uniform box")
	p.CGHeight = c.guess(v, "cg_height", language.Length, track/4, "a quarter of the track; common practice, no source")
	p.RollShare = c.guess(v, "roll_share", language.Share, 0.5, "both axles alike")
	p.WheelInertia = c.guess(v, "wheel_inertia", language.Inertia, 0.03*p.Mass*p.WheelRadius*p.WheelRadius,
		"a wheel of 4 % of the mass, between ring and disc; common practice, no source")
	c.fillTyre(v.Sub("tyre"))
	c.fillDrive(v, track)
}

// guess returns the number at a key, or else x, noted as guessed.
func (c *Car) guess(v *language.Mapping, key string, q language.Quantity, x float64, from string) float64 {
	if v.Has(key) {
		return v.Number(key)
	}
	c.Guessed = append(c.Guessed, Guess{Key: key, Value: q.Format(x), From: from})
	return x
}

// standardGravity is in m/s^2 (SI Brochure, conventional value).
const standardGravity = 9.80665

func (c *Car) fillTyre(v *language.Mapping) {
	t := &c.Car.Tyre
	t.Load = c.Car.Mass * standardGravity / 4
	if v == nil {
		*t = plant.Tyre{
			LongitudinalB: 7, LongitudinalC: 1.5, LongitudinalE: 0.5, LongitudinalMu: 0.7,
			LateralB: 6, LateralC: 1.4, LateralE: 0.5, LateralMu: 0.65,
			Load: t.Load, LoadSensitivity: 0.1,
		}
		c.Guessed = append(c.Guessed, Guess{"tyre", "friction 0.7 along, 0.65 across", "a soft tyre on loose gravel; common practice, no source"})
		return
	}
	along, across := v.Sub("longitudinal"), v.Sub("lateral")
	t.LongitudinalB, t.LongitudinalC, t.LongitudinalE, t.LongitudinalMu = along.Number("b"), along.Number("c"), along.Number("e"), along.Number("mu")
	t.LateralB, t.LateralC, t.LateralE, t.LateralMu = across.Number("b"), across.Number("c"), across.Number("e"), across.Number("mu")
	t.Load = v.NumberOr("load", t.Load)
	t.LoadSensitivity = v.Number("load_sensitivity")
}

// fillDrive fills in aerodynamics, motor and servo.
func (c *Car) fillDrive(v *language.Mapping, track float64) {
	p := &c.Car
	if a := v.Sub("aero"); a != nil {
		p.Aero = plant.Aero{DragArea: a.Number("drag_area"), FrontLiftArea: a.Number("front_lift_area"), RearLiftArea: a.Number("rear_lift_area")}
	} else {
		p.Aero = plant.Aero{DragArea: track * track / 4}
		c.Guessed = append(c.Guessed, Guess{"aero", language.Area.Format(p.Aero.DragArea) + " of drag, no lift", "half the track high, drag coefficient 0.5; common practice, no source"})
	}
	if m := v.Sub("motor"); m != nil {
		p.Motor = plant.Motor{
			StallTorque: m.Number("stall_torque"), NoLoadSpeed: m.Number("no_load_speed"), TorqueLimit: m.Number("torque_limit"),
			DragBrake: m.Number("drag_brake"), TorqueLagTau: m.Number("torque_lag"),
		}
	} else {
		limit := p.Mass * standardGravity / 4 * p.WheelRadius
		p.Motor = plant.Motor{StallTorque: 4 * limit, NoLoadSpeed: 20 / p.WheelRadius, TorqueLimit: limit, TorqueLagTau: 0.005}
		c.Guessed = append(c.Guessed, Guess{"motor", language.Torque.Format(limit) + " at the wheel up to a top speed of 20 m/s",
			"four motors that can push the car with its own weight; common practice, no source"})
	}
	if s := v.Sub("servo"); s != nil {
		p.Servo = plant.Servo{Rate: s.Number("rate"), Lag: s.Number("lag")}
	} else {
		p.Servo = plant.Servo{Rate: 5, Lag: 0.01}
		c.Guessed = append(c.Guessed, Guess{"servo", language.AngularRate.Format(p.Servo.Rate) + ", lag 10 ms", "a quick hobby servo; common practice, no source"})
	}
}
