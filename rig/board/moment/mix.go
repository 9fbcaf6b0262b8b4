package moment

// mix returns the commands for the throttle and a moment to the left, in the order of
// signal.Wheels: shares.
func (s *Settings) mix(throttle, moment float64) (command [4]float64) {
	base := throttle
	if !s.has(capMissing) {
		base = min(base, s.Cap)
	}
	shift := s.shares(moment)
	if throttle == 0 { // a fault: what is lowered from idle stays there
		for i, d := range shift {
			command[i] = max(d, 0)
		}
		return command
	}
	if s.has(scaledAlone) {
		for i, d := range shift {
			command[i] = min(max(base+d, min(s.Floor, base)), max(s.Cap, base))
		}
		return command
	}
	scale := 1.0
	for _, d := range shift {
		scale = min(scale, s.room(base, d))
	}
	for i, d := range shift {
		command[i] = min(max(base+float64(scale*d), 0), 1)
	}
	return command
}

// shares returns each motor's part of a moment to the left: the right side pushes, the left is
// pushed back.
func (s *Settings) shares(moment float64) [4]float64 {
	front, rear := float64(s.FrontShare*moment), float64(s.RearShare*moment)
	if s.has(sharesExchanged) {
		front, rear = rear, front
	}
	if s.has(sidesExchanged) {
		front, rear = -front, -rear
	}
	return [4]float64{-front, front, -rear, rear}
}

// room returns by what factor a shift fits between the base and the limit that it goes towards, 0 to
// 1.
func (s *Settings) room(base, shift float64) float64 {
	switch {
	case shift > 0:
		return min(max(s.Cap-base, 0)/shift, 1)
	case shift < 0 && !s.has(floorMissing):
		return min(max(base-s.Floor, 0)/-shift, 1)
	case shift < 0:
		return min(base/-shift, 1)
	}
	return 1
}
