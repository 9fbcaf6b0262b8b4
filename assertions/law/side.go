package law

import (
	"hilrig/assertions/measure"
	"hilrig/plant"
)

// The sides that the car may be turning to, as bits.
const (
	toTheLeft sides = 1 << iota
	toTheRight
	toEither = toTheLeft | toTheRight
)

type sides uint8

// noYaw is the largest yaw rate that counts as none: what sums leave of 0, far below what any sensor
// tells, rad/s.
const noYaw = 1e-9

// withZero returns a yaw rate that reaches to 0 where it all but does.
func withZero(yaw measure.Interval) measure.Interval {
	if yaw.Low > 0 && yaw.Low < noYaw {
		yaw.Low = 0
	}
	if yaw.High < 0 && yaw.High > -noYaw {
		yaw.High = 0
	}
	return yaw
}

// sidesOf returns the sides that the sign of a quantity stands for: either where it may be 0.
func sidesOf(i measure.Interval) sides {
	switch {
	case i.Low > 0:
		return toTheLeft
	case i.High < 0:
		return toTheRight
	}
	return toEither
}

// sides returns the sides by which the firmware may take outside and inside; those of a demand
// and a yaw rate of one sign each. Where the policy does not say, it goes by any of its words.
func (r *reckoning) sides(demand, yaw measure.Interval, reverse bool) sides {
	steer := sidesOf(measure.Interval{Low: r.in.Steer.Low - nearSteer, High: r.in.Steer.High + nearSteer})
	switch from := r.l.p.TurnFrom; {
	case from == TurnFromSteer:
		return steer
	case reverse: // the yaw rate's sign is the other of that of the side the car is steered to
		return toEither
	case from == TurnFromYawRate:
		return sidesOf(yaw)
	case from == TurnFromDemand:
		return sidesOf(demand)
	}
	return steer | sidesOf(yaw) | sidesOf(demand)
}

// moves is what one branch of the split does in a turn to one side.
type moves struct {
	signs  [4]float64          // of each motor: +1 raised, -1 lowered, 0 neither
	shares [4]measure.Interval // of the declared shift
}

// movesOf returns what a split does in a turn to the left and in one to the right.
func movesOf(s *Split) (m [2]moves) {
	if s == nil {
		return m
	}
	for side, turn := range [2]int{1, -1} {
		for _, c := range s.Raise {
			if w, ok := c.Wheel(turn); ok {
				m[side].signs[w] = 1
			}
		}
		for _, c := range s.Lower {
			if w, ok := c.Wheel(turn); ok {
				m[side].signs[w] = -1
			}
		}
		for i, w := range plant.Wheels {
			share := s.ShareOf(w)
			m[side].shares[i] = measure.Interval{Low: share, High: share}
			if s.Varies {
				m[side].shares[i] = varied(&m[side].signs, i)
			}
		}
	}
	return m
}

// varied returns the share of a motor whose share goes with something: that of one which
// has its sense to itself is the whole.
func varied(signs *[4]float64, i int) measure.Interval {
	for k, sign := range signs {
		if k != i && sign == signs[i] {
			return measure.Interval{High: 2}
		}
	}
	return measure.Interval{Low: 1, High: 1}
}
