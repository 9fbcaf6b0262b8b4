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

// signs holds +1 for each motor that a branch raises and -1 for each that it lowers.
type signs [4]int8

// branch holds the signs in a turn to the left and in one to the right.
type branch [2]signs

// newBranch works out whom s moves. The places have been checked.
func newBranch(s Split) (b branch) {
	add := func(places []Place, sign int8) {
		for _, p := range places {
			for turn, motor := range motorsOf[p] {
				b[turn][motor] += sign
			}
		}
	}
	add(s.Raise, 1)
	add(s.Lower, -1)
	return b
}

// frontRearExchanged returns b with the front motors' part played by the rear ones.
func (b branch) frontRearExchanged() branch {
	for turn := range b {
		s := b[turn]
		b[turn] = signs{s[rearLeft], s[rearRight], s[frontLeft], s[frontRight]}
	}
	return b
}

// situation is what the control loop goes by.
type situation struct {
	throttle, gain float64 // shares
	steer          float64 // rad
	yaw            float64 // rad/s
	speed          float64 // m/s
}

// demand returns the yaw rate in rad/s that the driver asks for.
func (b *BuiltIn) demand(x *situation) float64 {
	s := &b.settings
	steer, wheelbase := x.steer, s.Wheelbase
	if b.has(degreesForRadians) {
		steer /= radPerDegree
	}
	if b.has(wrongWheelbase) {
		wheelbase *= 0.75
	}
	// At and beyond the critical speed of an oversteering car the formula has no answer.
	divisor := max(wheelbase+float64(s.UndersteerGradient*x.speed*x.speed), wheelbase/10)
	r := x.speed * steer / divisor
	if s.LateralLimit > 0 && x.speed != 0 {
		limit := math.Abs(s.LateralLimit / x.speed)
		r = min(max(r, -limit), limit)
	}
	return r
}

// shift returns whom to move in this situation, and by what share of range.
func (b *BuiltIn) shift(x *situation) (who signs, amount float64) {
	s := &b.settings
	if math.Abs(x.speed) < s.Standstill && !b.has(noStandstill) {
		return who, 0
	}
	if x.speed < 0 && !s.Reverse && !b.has(reverseShifts) {
		return who, 0
	}
	demand := b.demand(x)
	over := math.Abs(demand - x.yaw)
	if over <= s.DeadBand {
		return who, 0
	}
	gain := x.gain
	if b.has(gainIgnored) {
		gain = s.ShiftGain
	}
	amount = min(s.ShiftIs*(over-s.DeadBand)/(s.ShiftError-s.DeadBand)*gain/s.ShiftGain, 1)

	turn := 0
	if b.turn(x) < 0 {
		turn = 1
	}
	opposite := float64(demand*x.yaw) < 0
	switch {
	case opposite && b.has(oppositeUndersteer):
		return b.understeer[turn], amount
	case opposite && s.OppositeLock == OppositeLockNoShift:
		return who, 0
	case !opposite && math.Abs(x.yaw) < math.Abs(demand):
		return b.understeer[turn], amount
	case b.has(oneBranch):
		return who, 0
	}
	return b.oversteer[turn], amount
}

// turn returns a number with the sign of the turn, positive to the left.
func (b *BuiltIn) turn(x *situation) float64 {
	first, second := x.yaw, x.steer
	if (b.settings.TurnFrom == TurnFromSteer) != b.has(turnFromOther) {
		first, second = second, first
	}
	if first == 0 {
		return second
	}
	return first
}
