package board

import (
	"math"
	"slices"
)

// apply returns the four commands, shares of range.
func (b *BuiltIn) apply(x *situation, who signs, amount float64) (command [4]float64) {
	s := &b.settings
	limit, floor := 1.0, s.lowest()
	if math.Abs(x.steer) > b.capAbove() && !b.has(noCap) {
		limit = s.Cap
	}
	if x.throttle >= s.Floor {
		floor = s.Floor
	}
	base := s.throttleCurve(x.throttle)
	if s.ThrottleDead > 0 && base >= 0 {
		floor = min(floor, base) // what stands below the floor by itself is not lifted to it by a shift
	}
	if !s.CapAfterShift {
		base = min(base, limit)
	}
	moves := s.moves(who, amount, base, limit, floor)
	if b.has(partnerStays) && base+amount > limit {
		moves.lower(0)
	}
	if b.has(sumLost) {
		moves.lower(0)
	}
	for m, move := range moves {
		c := base + move
		if c < 0 && b.has(wrapBelowZero) {
			c = float64(uint16(int32(c*1000))) / 1000 // thousandths of range in an unsigned 16 bit value
		}
		c += float64(c * s.Trim[m])
		if s.Step > 0 {
			c = s.Step * float64(rounded(c/s.Step))
		}
		command[m] = min(max(c, floor), limit)
	}
	s.tractionCut(x, &command)
	s.sumCut(&command)
	if b.has(motorsUnequal) {
		command[frontRight] *= 0.95
	}
	return command
}

// throttleCurve returns the command that a throttle stands for.
func (s *Settings) throttleCurve(throttle float64) float64 {
	size := math.Abs(throttle)
	if s.ThrottleDead > 0 {
		return s.beyondDead(throttle, size)
	}
	if s.ThrottleBend == 0 {
		return throttle
	}
	return throttle - float64(throttle*s.ThrottleBend*(1-size))
}

// beyondDead returns the command that a throttle of a size stands for where a part of it around idle stands for none.
func (s *Settings) beyondDead(throttle, size float64) float64 {
	if size <= s.ThrottleDead {
		return 0
	}
	command := (size - s.ThrottleDead) / (1 - s.ThrottleDead)
	if s.KeepsTurning && throttle > 0 {
		command = max(command, s.Floor)
	}
	return math.Copysign(command, throttle)
}

// shifts are by how much each motor is to be moved, shares of range.
type shifts [4]float64

// lower scales what is to be lowered.
func (m *shifts) lower(by float64) {
	for i := range m {
		if m[i] < 0 {
			m[i] *= by
		}
	}
}

// moves returns by how much each motor is to be moved from base, given what is to be done where
// one would pass the limit or the floor.
func (s *Settings) moves(who signs, amount, base, limit, floor float64) (m shifts) {
	for i, w := range who {
		m[i] = w * amount
	}
	highest, lowest := slices.Max(m[:]), slices.Min(m[:])
	atCap, atFloor := highest > 0 && base+highest > limit, lowest < 0 && base+lowest < floor
	scale := 1.0
	if atCap && s.at(s.AtCap) == LimitScale {
		scale = min(scale, max((limit-base)/highest, 0))
	}
	if atFloor && s.at(s.AtFloor) == LimitScale {
		scale = min(scale, max((floor-base)/lowest, 0))
	}
	alone := m
	for i := range m {
		up, down := alone[i] > 0, alone[i] < 0
		switch {
		case up && atFloor, down && atCap:
			word := s.at(s.AtCap)
			if up {
				word = s.at(s.AtFloor)
			}
			if word == LimitMovePartner || word == LimitPartnerOnly {
				m[i] *= 2
			}
		}
		if up && base+alone[i] > limit && s.at(s.AtCap) == LimitPartnerOnly ||
			down && base+alone[i] < floor && s.at(s.AtFloor) == LimitPartnerOnly {
			m[i] = 0
		}
		m[i] *= scale
	}
	return m
}

// at returns the word for one of the two limits.
func (s *Settings) at(own AtTheLimit) AtTheLimit {
	if own == "" {
		return s.AtTheLimit
	}
	return own
}

// tractionCut cuts the commands of wheels that are faster than the slowest.
func (s *Settings) tractionCut(x *situation, command *[4]float64) {
	if s.Traction.Share == 0 {
		return
	}
	slowest := math.Abs(SpeedSlowest.speed(&x.wheels))
	for m := range command {
		if math.Abs(x.wheels[m]) > slowest*(1+s.Traction.Share) {
			command[m] *= s.Traction.Cut
		}
	}
}

// sumCut brings the commands' sum down to SumCap.
func (s *Settings) sumCut(command *[4]float64) {
	sum := command[0] + command[1] + command[2] + command[3]
	if s.SumCap == 0 || sum <= s.SumCap {
		return
	}
	for m := range command {
		if s.SumScaled {
			command[m] *= s.SumCap / sum
		} else {
			command[m] -= float64((sum - s.SumCap) / 4)
		}
	}
}
