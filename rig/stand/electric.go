package stand

import "math"

// circuit is pack, controller and winding.
type circuit struct {
	voltage, sag, supply float64 // of the pack: V, ohm, A (0: no limit)
	resistance, constant float64 // of the motor
	limit                float64 // A of the winding, 0: none
	synchronous          bool
}

// drive is what a circuit gives at one duty and speed.
type drive struct {
	current float64 // A of the winding, with the sign of its torque
	slope   float64 // N m s/rad by which the torque falls with speed, 0 or more
	supply  float64 // A from the pack
	voltage float64 // V of the pack
}

// at returns what the winding takes while driven at a duty that is not 0. The pack gives the
// power that the winding takes, so that its current is duty times the winding's.
func (c *circuit) at(duty, speed float64) drive {
	sense := 1.0
	if duty < 0 {
		sense, duty, speed = -1, -duty, -speed
	}
	behind := c.resistance + float64(float64(duty*duty)*c.sag)
	d := drive{
		current: (float64(duty*c.voltage) - float64(c.constant*speed)) / behind,
		slope:   float64(c.constant*c.constant) / behind,
	}
	if d.current < 0 && !c.synchronous {
		return drive{voltage: c.voltage}
	}
	given := duty
	if c.limit > 0 && math.Abs(d.current) > c.limit {
		d.current, d.slope = math.Copysign(c.limit, d.current), 0
		given = c.share(d.current, speed)
	}
	if c.supply > 0 && float64(given*d.current) > c.supply {
		return c.limited(sense, duty, speed, &d)
	}
	d.supply = float64(given * d.current)
	d.voltage = c.voltage - float64(c.sag*d.supply)
	d.current *= sense
	return d
}

// share returns the duty at which a current flows at a speed, both in the sense of the duty.
func (c *circuit) share(current, speed float64) float64 {
	across := float64(c.resistance*current) + float64(c.constant*speed)
	if c.sag == 0 {
		return across / c.voltage
	}
	a := float64(2 * c.sag * current)
	return (c.voltage - math.Sqrt(max(float64(c.voltage*c.voltage)-float64(2*a*across), 0))) / a
}

// limited is a pack at its limit of current: it holds the current and lets the voltage go. The
// controller then has the duty that it wants, and the winding the current that is left.
func (c *circuit) limited(sense, duty, speed float64, d *drive) drive {
	d.current = min(d.current, c.supply/duty)
	d.slope = 0
	d.supply = c.supply
	across := float64(c.resistance*d.current) + float64(c.constant*speed)
	d.voltage = max(across/duty, 0)
	d.current *= sense
	return *d
}

// shorted returns what a shorted winding takes.
func (c *circuit) shorted(speed float64) drive {
	return drive{
		current: -float64(c.constant*speed) / c.resistance,
		slope:   float64(c.constant*c.constant) / c.resistance,
		voltage: c.voltage,
	}
}
