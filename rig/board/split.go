package board

import "math"

// The motors in the order of every array of four.
const (
	frontLeft = iota
	frontRight
	rearLeft
	rearRight
)

var wheelNames = [4]string{"front_left", "front_right", "rear_left", "rear_right"}

// motorsOf has the motor at each place in a turn to the left and in one to the right.
var motorsOf = map[Place][2]uint8{
	FrontLeft:    {frontLeft, frontLeft},
	FrontRight:   {frontRight, frontRight},
	RearLeft:     {rearLeft, rearLeft},
	RearRight:    {rearRight, rearRight},
	OutsideFront: {frontRight, frontLeft},
	InsideFront:  {frontLeft, frontRight},
	OutsideRear:  {rearRight, rearLeft},
	InsideRear:   {rearLeft, rearRight},
}

// signs holds for each motor which share of the shift it is moved by, below 0 where it is lowered.
type signs [4]float64

// branch holds the signs in a turn to the left and in one to the right.
type branch struct {
	turns  [2]signs
	varies bool
}

// newBranch works out whom s moves. The places have been checked.
func newBranch(s Split) (b branch) {
	b.varies = s.Varies
	add := func(places []Place, sign float64) {
		for _, p := range places {
			for turn, motor := range motorsOf[p] {
				b.turns[turn][motor] += float64(sign * s.share(motor))
			}
		}
	}
	add(s.Raise, 1)
	add(s.Lower, -1)
	return b
}

// share returns which share of the shift a motor is moved by.
func (s *Split) share(motor uint8) float64 {
	share := s.Front
	if motor >= rearLeft {
		share = s.Rear
	}
	if share == 0 {
		return 1
	}
	return share
}

// signs returns whom to move in a turn to the left, 0, or to the right, 1. Where the shares vary,
// front motors of a pair get more of its shift the faster the car is, rear ones so much less.
func (b *branch) signs(turn int, x *situation) signs {
	s := b.turns[turn]
	if !b.varies {
		return s
	}
	more := min(max((math.Abs(x.speed)-4)/8, -0.4), 0.4)
	for front := range rearLeft {
		for rear := rearLeft; rear < len(s); rear++ {
			if s[front]*s[rear] > 0 {
				s[front] *= 1 + more
				s[rear] *= 1 - more
			}
		}
	}
	return s
}

// senses returns for each motor 1 where it is raised, -1 where it is lowered, and 0.
func (s signs) senses() signs {
	for i, share := range s {
		switch {
		case share > 0:
			s[i] = 1
		case share < 0:
			s[i] = -1
		}
	}
	return s
}

// frontRearExchanged returns s with the front motors' part played by the rear ones.
func (s signs) frontRearExchanged() signs {
	return signs{s[rearLeft], s[rearRight], s[frontLeft], s[frontRight]}
}

// frontRearExchanged does that for both turns.
func (b branch) frontRearExchanged() branch {
	for turn := range b.turns {
		b.turns[turn] = b.turns[turn].frontRearExchanged()
	}
	return b
}

// brakes says whether the throttle brakes, or did a short while ago. It is asked once in each turn of the loop.
func (b *BuiltIn) brakes(throttle float64) bool {
	s := &b.settings
	switch {
	case throttle < -s.BrakesFrom:
		b.afterBraking = s.AfterBraking
	case b.afterBraking > 0:
		b.afterBraking -= s.LoopPeriod
	default:
		return false
	}
	return true
}

// shift returns whom to move in this situation, and by what share of range.
func (b *BuiltIn) shift(x *situation) (who signs, amount float64) {
	s := &b.settings
	if math.Abs(x.speed) < b.standstill() && !b.has(noStandstill) {
		return who, 0
	}
	back := x.speed < 0
	if back && (s.Reverse == "" || s.Reverse == ReverseNoShift) && !b.has(reverseShifts) {
		return who, 0
	}
	if s.NoShiftInBraking && b.brakes(x.throttle) {
		return who, 0
	}
	demand := b.demand(x)
	demand += b.derivative.of(s, demand-x.yaw)
	err := math.Abs(demand - x.yaw)
	if err <= s.DeadBand {
		return who, 0
	}
	gain := x.gain
	if b.has(gainIgnored) {
		gain = s.ShiftGain
	}
	over, from := s.proportion(err)
	amount = min(s.ShiftIs*over/from*gain/s.ShiftGain, 1)
	who, share := b.whom(x, demand)
	if share == 0 {
		return who, 0
	}
	if back && s.Reverse == ReverseMirrored {
		who = who.frontRearExchanged()
	}
	amount = b.grown.grow(s, who, amount) * share * s.fades(x, demand)
	if amount <= s.DeadShift {
		return who, 0
	}
	return who, amount
}

// whom returns whom to move in a situation, and by how much of what the error asks for.
func (b *BuiltIn) whom(x *situation, demand float64) (who signs, share float64) {
	s := &b.settings
	turn := 0
	if b.turn(x, demand) < 0 {
		turn = 1
	}
	opposite := float64(demand*x.yaw) < 0
	if x.speed < 0 && (s.Reverse == ReverseAsForward || s.Reverse == ReverseMirrored) {
		opposite = false // there it goes by the sizes
	}
	switch {
	case opposite && (b.has(oppositeUndersteer) || s.OppositeLock == OppositeLockUndersteer):
		return b.understeer.signs(turn, x), 1
	case opposite && s.OppositeLock == OppositeLockNoShift:
		return who, 0
	case !opposite && math.Abs(x.yaw) < math.Abs(demand):
		return b.understeer.signs(turn, x), 1
	case b.has(oneBranch):
		return who, 0
	case opposite && s.OppositeLock == OppositeLockShare:
		return b.oversteer.signs(turn, x), s.OppositeShare
	}
	return b.oversteer.signs(turn, x), 1
}

// turn returns a number with the sign of the turn, positive to the left.
func (b *BuiltIn) turn(x *situation, demand float64) float64 {
	first, second := x.yaw, x.steer
	if b.settings.TurnFrom == TurnFromDemand {
		second = demand
	}
	if (b.settings.TurnFrom != TurnFromYawRate) != b.has(turnFromOther) {
		first, second = second, first
	}
	if first == 0 {
		return second
	}
	return first
}
