package board

// The motors in the order of every array of four.
const (
	frontLeft = iota
	frontRight
	rearLeft
	rearRight
)

var wheelNames = [4]string{"front_left", "front_right", "rear_left", "rear_right"}

// motorsOf returns the motor at place p in a turn to the left and in one to the right.
func motorsOf(p Place) (motors [2]uint8, ok bool) {
	switch p {
	case FrontLeft:
		return [2]uint8{frontLeft, frontLeft}, true
	case FrontRight:
		return [2]uint8{frontRight, frontRight}, true
	case RearLeft:
		return [2]uint8{rearLeft, rearLeft}, true
	case RearRight:
		return [2]uint8{rearRight, rearRight}, true
	case OutsideFront:
		return [2]uint8{frontRight, frontLeft}, true
	case InsideFront:
		return [2]uint8{frontLeft, frontRight}, true
	case OutsideRear:
		return [2]uint8{rearRight, rearLeft}, true
	case InsideRear:
		return [2]uint8{rearLeft, rearRight}, true
	}
	return motors, false
}

// signs holds +1 for each motor that a branch raises and -1 for each that it lowers.
type signs [4]int8

// branch holds the signs in a turn to the left and in one to the right.
type branch [2]signs

// newBranch works out whom s moves. The places have been checked.
func newBranch(s Split) (b branch) {
	add := func(places []Place, sign int8) {
		for _, p := range places {
			motors, _ := motorsOf(p)
			for turn := range b {
				b[turn][motors[turn]] += sign
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
		limit := magnitude(s.LateralLimit / x.speed)
		r = min(max(r, -limit), limit)
	}
	return r
}

// shift returns whom to move in this situation, and by what share of range.
func (b *BuiltIn) shift(x *situation) (who signs, amount float64) {
	s := &b.settings
	if magnitude(x.speed) < s.Standstill && !b.has(noStandstill) {
		return who, 0
	}
	if x.speed < 0 && !s.Reverse && !b.has(reverseShifts) {
		return who, 0
	}
	demand := b.demand(x)
	over := magnitude(demand - x.yaw)
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
	case !opposite && magnitude(x.yaw) < magnitude(demand):
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

func magnitude(x float64) float64 {
	if x < 0 {
		return -x
	}
	return x
}
