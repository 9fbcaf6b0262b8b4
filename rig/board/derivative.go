package board

// derivative is how fast the yaw error changes, as the control loop sees it from turn to turn.
type derivative struct {
	known bool    // whether there was a turn before
	last  float64 // rad/s, the error then
	rate  float64 // rad/s2, behind a low-pass
}

// derivativeTurns is the time constant of the low-pass, turns of the loop.
const derivativeTurns = 4

// of takes a turn's error in, and returns what is added to it.
func (d *derivative) of(s *Settings, yawError float64) float64 {
	if s.DerivativeTime == 0 {
		return 0
	}
	if d.known {
		rate := (yawError - d.last) / s.LoopPeriod.Seconds()
		d.rate += float64((rate - d.rate) / derivativeTurns)
	}
	d.known, d.last = true, yawError
	return float64(d.rate * s.DerivativeTime.Seconds())
}
