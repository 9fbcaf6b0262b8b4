package law

import (
	"math"

	"hilrig/rig/signal"
)

// Policy is what the owner declares the board should do. It is data: checks
// read it and hard-code nothing. A nil pointer, an empty list or a word that is 0
// means that the owner left that key out: it is not asked, and is listed as
// not asked.
//
// Shares (of the range of a motor command, of the gain trim, of a value) are
// fractions, 0.08 for "8 %".
type Policy struct {
	Demand       *Demand
	TurnFrom     TurnFrom
	OppositeLock OppositeLock
	Understeer   *Split
	Oversteer    *Split
	ShiftAt      *ShiftAt
	DeadShift    float64  // share of range below which a shift counts as none; 0 stands for the larger of 1 % of range and 3 command steps
	DeadBand     *float64 // rad/s of yaw error that the board ignores on purpose
	SumKept      bool     // the sum of the four commands is that of the baseline
	Cap          *Cap
	Floor        *float64 // no motor goes below this share of range while the throttle is at or above it
	AtTheLimit   AtTheLimit
	Standstill   *float64 // m/s: below this speed no shift
	Reverse      Reverse
	LoopRate     *float64 // Hz, at least
	Response     *Response
	ThrottleLost *signal.Time // idle within
	SteerLost    *signal.Time // no shift within
	YawLost      *signal.Time // no shift within
	YawFrozen    *signal.Time // no shift within
	EncoderLost  *signal.Time // no shift within
	BadChecksum  BadChecksum
	Spike        *float64 // share of range that a one-frame spike may move a motor, at most
	Recovers     Recovers
	SafeState    Outputs // after a loss
	StartState   Outputs // after power-up

	OutputsTogether   *signal.Time // the four motors' changes stand this close
	MotorsEqualWithin *float64     // share of range, with no shift asked
	Resolution        *float64     // share of range: the largest command step
}

// Split is one branch of the torque split: whom it raises and whom it lowers.
type Split struct {
	Raise, Lower []Corner
}

// ShiftAt declares the size of the shift at one yaw error and one gain trim;
// between, it is proportional to both, with a dead band to what the error
// exceeds that by.
type ShiftAt struct {
	Error  float64 // rad/s
	Gain   float64 // share
	Is     float64 // share of range, each raised or lowered motor
	Within float64 // share of Is
}

// Cap is the highest command while the steering is turned.
type Cap struct {
	Of         float64 // share of range
	SteerAbove float64 // rad, magnitude
}

// Response is the longest time from a change on the wire to the end of the
// first changed command frame, as a quantile.
type Response struct {
	AtMost   signal.Time
	Quantile float64 // 0.95 for "95 %"
}

// Demand is the yaw rate that the driver asks for, as the policy declares it:
// that of a linear single-track model,
//
//	r = V delta / (L + K V^2)
//
// limited, where LateralLimit is above 0, to LateralLimit / V.
type Demand struct {
	Wheelbase          float64 // m
	UndersteerGradient float64 // rad/(m/s^2), K
	LateralLimit       float64 // m/s^2; 0 means that there is none
	Within             float64 // share of the demand
}

// YawRate returns the yaw rate in rad/s demanded at speed in m/s and mean steer
// angle in rad; it has the sign of steer at positive speed, and is 0 at standstill.
func (d *Demand) YawRate(speed, steer float64) float64 {
	r := speed * steer / (d.Wheelbase + float64(float64(d.UndersteerGradient*speed)*speed))
	if d.LateralLimit > 0 && speed != 0 {
		limit := math.Abs(d.LateralLimit / speed)
		r = min(max(r, -limit), limit)
	}
	return r
}

// DeadShiftFor returns the shift below which a motor counts as not moved, a
// share of range: the policy's DeadShift, or where it has none 1 % of the
// range or three command steps, whichever is more.
func (p *Policy) DeadShiftFor(commandStep float64) float64 {
	if p != nil && p.DeadShift > 0 {
		return p.DeadShift
	}
	return max(0.01, 3*commandStep)
}

// Turn returns the sense of the turn in which outside and inside are named: +1 left, -1
// right, 0 where there is none. By the policy it is that of the yaw rate in rad/s or of the
// steer angle in rad; where that is 0, the other's.
func (p *Policy) Turn(yawRate, steer float64) int {
	first, second := yawRate, steer
	if p.TurnFrom == TurnFromSteer {
		first, second = steer, yawRate
	}
	if first == 0 {
		first = second
	}
	switch {
	case first > 0:
		return 1
	case first < 0:
		return -1
	}
	return 0
}
