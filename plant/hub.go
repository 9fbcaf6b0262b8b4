package plant

import "hilrig/plant/portable"

// HubSpeeds returns the speed of each wheel's hub along its wheel, in m/s, when the
// centre of gravity moves straight ahead with the speed (m/s) while the car yaws
// (rad/s) with its front wheels at steer (rad): what the wheels of a car do that
// rolls without slip. The sideslip at the centre of gravity is taken as 0.
func (c Car) HubSpeeds(speed, yawRate, steer float64) [4]float64 {
	s, k := portable.SinCos(steer)
	front, rear := float64(0.5*yawRate*c.FrontTrack), float64(0.5*yawRate*c.RearTrack)
	side := float64(float64(yawRate*c.FrontAxle) * s)
	return [4]float64{
		float64((speed-front)*k) + side,
		float64((speed+front)*k) + side,
		speed - rear,
		speed + rear,
	}
}

// WheelRates returns HubSpeeds as rates of the wheels, in rad/s.
func (c Car) WheelRates(speed, yawRate, steer float64) [4]float64 {
	w := c.HubSpeeds(speed, yawRate, steer)
	for i := range w {
		w[i] /= c.WheelRadius
	}
	return w
}
