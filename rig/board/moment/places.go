package moment

// misplaced returns what faults that show at a place alone, at some speeds or throttles, make of
// a moment. The numbers of their places are invented.
func (s *Settings) misplaced(m float64, in *inputs) float64 {
	switch {
	case s.has(gapInSpeed) && in.speed >= 6 && in.speed <= 8:
		return 0
	case s.has(gapInPower) && in.speed > 5 && in.throttle > 0.6:
		return 0
	case s.has(sidesInThrottle) && in.throttle >= 0.55 && in.throttle <= 0.75:
		return -m
	}
	return m
}

// clearBelow returns the speed in m/s below which the memory is cleared.
func (s *Settings) clearBelow() float64 {
	if s.has(fadeEarly) {
		return float64(s.ClearBelow / 5)
	}
	return s.ClearBelow
}
