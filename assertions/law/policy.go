package law

import (
	"math"

	"hilrig/plant"
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
	// OppositeLockShare is what share of an oversteer's shift is asked for under opposite lock,
	// for the word [OppositeLockShare].
	OppositeLockShare float64
	Understeer        *Split
	Oversteer         *Split
	ShiftAt           *ShiftAt
	DeadShift         float64  // share of range below which a shift counts as none; 0 stands for the larger of 1 % of range and 3 command steps
	DeadBand          *float64 // rad/s of yaw error that the board ignores on purpose
	Straight          *Straight
	GainSteps         []float64 // shares, ascending: the trim is a switch; empty: it is continuous, unless Unsaid says otherwise
	SumKept           bool      // the sum of the four commands is that of the baseline
	Cap               *Cap
	SumCap            *float64 // the sum of the four commands is at most this, in ranges of one motor
	Floor             *float64 // no motor goes below this share of range while the throttle is at or above it
	AtTheLimit        AtTheLimit
	AtTheCap          AtTheLimit // 0: as AtTheLimit
	AtTheFloor        AtTheLimit // 0: as AtTheLimit
	TractionControl   *float64   // a wheel faster than the slowest by this share of its speed may have its motor cut
	Standstill        *Fade      // no shift at low speed, m/s
	Braking           Braking
	Reverse           Reverse
	Smoothing         *Smoothing
	ThrottleCurve     ThrottleCurve

	LoopRate   *float64 // Hz, at least
	Response   *Response
	LongestGap *signal.Time // the longest time without an update of the commands
	// CorruptFrames is the largest share of motor frames that may be corrupt or missing;
	// nil: none may be.
	CorruptFrames *float64

	ThrottleLost   *Loss
	SteerLost      *Loss
	GainLost       *Loss
	ReceiverLost   *Loss // no frames of a receiver's bus, or no pulses on any of its lines
	ReceiverFlag   *Loss // its frames go on, with the failsafe flag set
	YawLost        *Loss
	YawFrozen      *Loss // frames go on, the value stands still
	SequenceFrozen *Loss // frames go on with live values, the sequence counter stands still
	EncoderLost    *Loss
	BadChecksum    BadChecksum
	BadPulse       BadPulse
	Spike          *float64     // share of range that a one-frame spike may move a motor, at most
	Recovers       Recovers     // after each loss that says nothing of its own
	SafeState      Outputs      // after a loss
	StartState     Outputs      // after power-up
	StartWaitsFor  []Input      // what has to have been there after power-up before it drives, beside that after whose loss it stops
	StartAtRest    *signal.Time // how long the board has to stand still after power-up, before which it is silent or idle
	Arms           Recovers     // what it takes after power-up to drive; 0: nothing

	OutputsTogether   *signal.Time // the four motors' changes stand this close
	MotorsEqualWithin *float64     // share of range, with no shift asked
	Resolution        *float64     // share of range: the largest command step
	DrivesBetter      bool         // the closed-loop drives have to be better with the board's shift than without

	Unsaid Unsaid // what nothing is said of where there is no Straight and no GainSteps
}

// Unsaid says what a policy leaves open that its other fields cannot, as bits.
type Unsaid uint8

// What may be left open: whether there is a shift nearly straight on; and whether the trim is
// continuous or a switch, and with which steps.
const (
	UnsaidStraight Unsaid = 1 << iota
	UnsaidGainSteps
)

// Split is one branch of the torque split: whom it raises and whom it lowers.
type Split struct {
	Raise, Lower []Corner
	// Front and Rear are the shares of the declared shift that motors of that axle move, 1
	// where nothing is declared.
	Front, Rear float64
	// Varies says that the shares go with speed, or with the room that each motor has: each
	// motor then moves by something between nothing and twice the declared shift, and those
	// of one sense together by as much as if each moved by that.
	Varies bool
}

// ShareOf returns what share of the declared shift a motor moves.
func (s *Split) ShareOf(w plant.Wheel) float64 {
	share := s.Front
	if w == plant.RearLeft || w == plant.RearRight {
		share = s.Rear
	}
	if share == 0 {
		return 1
	}
	return share
}

// LeastShare returns the smallest share of the declared shift that a motor of the split moves, at most 1; 1 where it moves none, or where
// the shares vary.
func (s *Split) LeastShare() float64 {
	least := 1.0
	if s == nil || s.Varies {
		return least
	}
	for _, corners := range [...][]Corner{s.Raise, s.Lower} {
		for _, c := range corners {
			if w, ok := c.Wheel(1); ok { // which axle it is of is the same to both sides
				least = min(least, s.ShareOf(w))
			}
		}
	}
	return least
}

// ShiftAt declares the size of the shift at one yaw error and one gain trim;
// between, it is proportional to both, with a dead band to what the error
// exceeds that by.
type ShiftAt struct {
	Error  float64 // rad/s
	Gain   float64 // share
	Is     float64 // share of range, each raised or lowered motor
	Within float64 // share of Is
	Grows  Growth
	Most   float64 // share of range: the largest shift of a saturating or integrating law; 0: none is declared
	// DerivativeTime, s, multiplied by how fast the yaw error changes is added to the error; 0: nothing is.
	DerivativeTime float64
}

// Fade is a range over which the shift comes in: none below From, all of it from Full on;
// Full is at least From.
type Fade struct{ From, Full float64 }

// Straight says that there is no shift while the car goes nearly straight on: by the steer
// angle in rad, or by the demand in rad/s; either may be nil.
type Straight struct{ Steer, Demand *Fade }

// Cap is the highest command while the steering is turned.
type Cap struct {
	Of         float64 // share of range
	SteerAbove float64 // rad, magnitude
	Cut        CapCut
}

// Smoothing is what the board's commands go through on their way out.
type Smoothing struct {
	Filter      signal.Time // time constant of a first-order lag; 0: none
	FullRangeIn signal.Time // a slew limit: how long a command takes through its whole range; 0: none
}

// Loss is what a board does when something is lost.
type Loss struct {
	Then     LossThen
	Within   signal.Time // from the last good edge, pulse or frame; 0 where Then is LossIgnored
	Value    float64     // of the gain, for LossValue, share
	Recovers Recovers    // 0: as the policy's Recovers
}

// Integrates says whether the policy declares a shift that grows with time, which a board
// remembers.
func (p *Policy) Integrates() bool { return p.ShiftAt != nil && p.ShiftAt.Grows == GrowthIntegrating }

// MayIntegrate says whether the policy leaves it open that a board's shift grows with time.
func (p *Policy) MayIntegrate() bool { return p.ShiftAt == nil || p.Integrates() }

// RecoversAfter returns what a board needs after a loss is over; 0: the policy does not say.
func (p *Policy) RecoversAfter(l *Loss) Recovers {
	if l != nil && l.Recovers != 0 {
		return l.Recovers
	}
	return p.Recovers
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
// limited, where LateralLimit is above 0, to LateralLimit / V, and where YawLimit is above 0
// to that.
type Demand struct {
	Wheelbase          float64 // m
	UndersteerGradient float64 // rad/(m/s^2), K
	LateralLimit       float64 // m/s^2; 0 means that there is none
	YawLimit           float64 // rad/s; 0 means that there is none
	SteerRate          float64 // s: this times the demand's derivative by the steering is fed forward; 0 means none
	SpeedFrom          SpeedFrom
	SteerLinear        bool    // the firmware takes the wheel angle as linear in the pulse; else it has the car's table
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
	if d.YawLimit > 0 {
		r = min(max(r, -d.YawLimit), d.YawLimit)
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
