package plant

import (
	"math"

	"hilrig/plant/portable"
)

// angle returns where the servo stands a time t (s) after it stood at from (rad),
// with the command held. Its rate is the way that is left over Lag, at most Rate:
// a straight line first, then an exponential; both are followed exactly.
func (s *Servo) angle(from, command, t float64) float64 {
	left := command - from
	if s.Rate > 0 {
		// Way that is left when the rate comes below its limit.
		knee := float64(s.Rate * s.Lag)
		if straight := (math.Abs(left) - knee) / s.Rate; straight > 0 {
			if t < straight {
				return from + math.Copysign(float64(s.Rate*t), left)
			}
			left = math.Copysign(knee, left)
			t -= straight
		}
	}
	if s.Lag == 0 {
		return command
	}
	return command - float64(left*portable.Exp(-t/s.Lag))
}
