package board

import (
	"fmt"
	"math"
	"slices"

	"hilrig/rig/signal"
)

const radPerDegree = 3.14159265358979323846 / 180

// Settings are the constants of the built-in controller's firmware. Start from
// [Bramble]; the zero value is not valid.
type Settings struct {
	// Timers.
	LoopPeriod   signal.Time // of the control loop
	OutputPeriod signal.Time // of the motor commands
	ClockError   int         // ppm by which the crystal runs fast, -10000 to 10000; good for ten days of virtual time
	Timing       Timing      // how they depart from even timers; the zero value: they do not

	// Sensors and receiver.
	WheelRadius          float64      // m
	EncoderLines         int          // per turn of the wheel; four counts a line, two a pulse of a tacho
	Wheels               WheelInput   // what the wheels' sensors are; "": quadrature
	WheelDuty            DutyInput    // with Wheels Duty
	Bus                  BusInput     // where it has a line, the receiver's channels come on it
	Wheel                [4]OwnWheel  // what differs at single wheels
	Baud                 int          // of the yaw sensor's line, 8N1
	YawFrame             YawFormat    // the zero value: as on the demo car
	SteerCentre          signal.Time  // width that stands for steer 0
	SteerSpan            signal.Time  // wider by this is SteerAtSpan; above 0
	SteerAtSpan          float64      // rad, positive to the left
	SteerSlack           signal.Time  // a width this close to SteerCentre, or where SteerTable is 0, is steer 0
	SteerTable           []SteerPoint // by rising width, two or more, instead of SteerSpan and SteerAtSpan
	ThrottleIdle         signal.Time  // width that stands for 0
	ThrottleFull         signal.Time  // width that stands for 1
	GainLow, GainHigh    signal.Time  // widths that stand for 0 and 1
	PulseLeast           signal.Time  // receiver pulses outside are ignored
	PulseMost            signal.Time
	MotorIdle, MotorFull signal.Time // widths of the commands 0 and 1, where they are pulses
	Output               Output      // how the commands are sent

	// Demand: V delta / (Wheelbase + UndersteerGradient V^2).
	Wheelbase          float64 // m
	UndersteerGradient float64 // rad/(m/s^2); where it is negative, the divisor stays above a tenth of Wheelbase
	LateralLimit       float64 // m/s^2, of demand times speed; 0 means no limit

	// Split. The shift is ShiftIs at the error ShiftError and the gain ShiftGain,
	// in proportion to the gain and to what the error exceeds DeadBand by.
	ShiftError   float64 // rad/s, above DeadBand
	ShiftGain    float64 // share, above 0
	ShiftIs      float64 // share of range
	DeadBand     float64 // rad/s
	TurnFrom     TurnFrom
	OppositeLock OppositeLock
	Understeer   Split
	Oversteer    Split

	// Limits.
	Cap        float64 // share of range, while the magnitude of steer is above CapAbove
	CapAbove   float64 // rad
	Floor      float64 // share of range, while the throttle is at or above it
	AtTheLimit AtTheLimit
	Standstill float64 // m/s: no shift below this mean speed; 0 means that it is never held back

	// Failsafes.
	ThrottleTimeout signal.Time // then all idle
	SteerTimeout    signal.Time // then no shift, as for all that follow
	GainTimeout     signal.Time
	YawTimeout      signal.Time
	YawFrozen       signal.Time // frames go on this long with the same bits
	YawJump         float64     // rad/s between two frames; more has to be confirmed
	YawAgree        float64     // rad/s within which the next frame confirms it; at most YawJump
	EncoderTimeout  signal.Time // a wheel that does not get on this long, the others above EncoderOthers
	EncoderOthers   float64     // m/s, mean of the other three
	Recovers        Recovery
	ThrottleAtIdle  float64   // share up to which the throttle counts as idle
	SafeState       SafeState // of the outputs when the throttle is lost
	StartState      SafeState // of the outputs until all inputs have been seen

	Shaping Shaping // between what is worked out and what is sent
	Law             // what other schools of firmware do otherwise

	faults [len(seeded) + len(seededAtPlaces) + len(seededInTime) + len(seededInFrames)]bool // those that are switched on
	named  string                                                                            // the seeded fault's name
}

// Split is one branch: whom it raises and whom it lowers by the shift.
type Split struct {
	Raise, Lower []Place
	Front, Rear  float64 // shares of the shift by which motors of that axle are moved; 0 stands for 1
	Varies       bool    // pairs of one sense share theirs by the speed
}

// Place is a motor, by its wheel or by its place in the turn. Outside is
// the side away from the centre of the turn.
type Place string

// The places.
const (
	FrontLeft    Place = "front_left"
	FrontRight   Place = "front_right"
	RearLeft     Place = "rear_left"
	RearRight    Place = "rear_right"
	OutsideFront Place = "outside_front"
	InsideFront  Place = "inside_front"
	OutsideRear  Place = "outside_rear"
	InsideRear   Place = "inside_rear"
)

// TurnFrom says by what the firmware takes the outside of a turn; where that
// is 0, it goes by the other.
type TurnFrom string

// The ways of telling the outside.
const (
	TurnFromYawRate TurnFrom = "yaw_rate"
	TurnFromSteer   TurnFrom = "steer"
	TurnFromDemand  TurnFrom = "demand"
)

// OppositeLock says what is done when demand and yaw rate have opposite signs.
type OppositeLock string

// The ways with opposite lock.
const (
	OppositeLockOversteer  OppositeLock = "oversteer"
	OppositeLockNoShift    OppositeLock = "no_shift"
	OppositeLockUndersteer OppositeLock = "understeer"
	OppositeLockShare      OppositeLock = "share" // OppositeShare of what oversteer asks for
)

// AtTheLimit says what is done when a motor to be raised would pass its cap or
// one to be lowered its floor: it stays at its limit, and the partner moves as
// it would anyway, or by twice the amount; it does not move at all, and the partner moves by
// twice the amount; or all are moved by so much less that it comes just to its limit.
type AtTheLimit string

// The ways at the limit.
const (
	LimitCap         AtTheLimit = "cap"
	LimitMovePartner AtTheLimit = "move_partner"
	LimitPartnerOnly AtTheLimit = "partner_only"
	LimitScale       AtTheLimit = "scale"
)

var limitWords = []string{string(LimitCap), string(LimitMovePartner), string(LimitPartnerOnly), string(LimitScale)}

// Recovery says how a failsafe ends once its cause is gone.
type Recovery string

// The ways of recovery.
const (
	ByItself         Recovery = "by_itself"
	AtThrottleAtIdle Recovery = "throttle_at_idle"
	AtPowerCycle     Recovery = "power_cycle"
)

// SafeState says what the outputs do when there is to be no drive.
type SafeState string

// The safe states.
const (
	Idle   SafeState = "idle"   // idle pulses
	Silent SafeState = "silent" // no pulses, lines at their idle level
)

// Bramble returns the constants of the demo car's controller.
func Bramble() Settings {
	return Settings{
		LoopPeriod:   4 * signal.Millisecond,
		OutputPeriod: 3 * signal.Millisecond,

		WheelRadius:  0.054,
		EncoderLines: 256,
		Baud:         115200,
		SteerCentre:  1500 * signal.Microsecond,
		SteerSpan:    500 * signal.Microsecond,
		SteerAtSpan:  30 * radPerDegree,
		SteerSlack:   2 * signal.Microsecond,
		ThrottleIdle: 1000 * signal.Microsecond,
		ThrottleFull: 2000 * signal.Microsecond,
		GainLow:      1000 * signal.Microsecond,
		GainHigh:     2000 * signal.Microsecond,
		PulseLeast:   800 * signal.Microsecond,
		PulseMost:    2200 * signal.Microsecond,
		MotorIdle:    1000 * signal.Microsecond,
		MotorFull:    2000 * signal.Microsecond,

		Wheelbase:          0.330,
		UndersteerGradient: 0.0028,

		ShiftError:   60 * radPerDegree,
		ShiftGain:    0.5,
		ShiftIs:      0.08,
		TurnFrom:     TurnFromSteer,
		OppositeLock: OppositeLockOversteer,
		Understeer:   Split{Raise: []Place{OutsideRear}, Lower: []Place{InsideFront}},
		Oversteer:    Split{Raise: []Place{OutsideFront}, Lower: []Place{OutsideRear}},

		Cap:        0.92,
		CapAbove:   2 * radPerDegree,
		AtTheLimit: LimitCap,
		Standstill: 0.5,

		ThrottleTimeout: 100 * signal.Millisecond,
		SteerTimeout:    100 * signal.Millisecond,
		GainTimeout:     100 * signal.Millisecond,
		YawTimeout:      60 * signal.Millisecond,
		YawFrozen:       60 * signal.Millisecond,
		YawJump:         250 * radPerDegree,
		YawAgree:        100 * radPerDegree,
		EncoderTimeout:  50 * signal.Millisecond,
		EncoderOthers:   1,
		Recovers:        ByItself,
		ThrottleAtIdle:  0.02,
		SafeState:       Idle,
		StartState:      Idle,

		Law: Law{SequenceTimeout: 60 * signal.Millisecond},
	}
}

// rangeOf is a constant with what it may be, wordOf a word with those that it may be.
type (
	rangeOf struct {
		name            string
		value, from, to float64
	}
	wordOf struct {
		name, word string
		known      []string
	}
)

// check returns an error that names the first constant out of its range.
func (s *Settings) check() error {
	for _, c := range append([]rangeOf{
		{"LoopPeriod", s.LoopPeriod.Seconds(), 10e-6, 1},
		{"MotorIdle", s.MotorIdle.Seconds(), 10e-6, 10e-3},
		{"MotorFull", s.MotorFull.Seconds(), 10e-6, 10e-3},
		{"OutputPeriod", s.OutputPeriod.Seconds(), s.Output.longest(s.MotorIdle, s.MotorFull).Seconds() + 10e-6, 1},
		{"ClockError", float64(s.ClockError), -10000, 10000},
		{"WheelRadius", s.WheelRadius, 1e-3, 10},
		{"EncoderLines", float64(s.EncoderLines), 1, 100000},
		{"Baud", float64(s.Baud), 300, 12e6},
		{"WheelDuty.Period", s.WheelDuty.Period.Seconds(), s.least(Duty, 10e-6), 1},
		{"WheelDuty.Most less WheelDuty.Least", s.WheelDuty.Most - s.WheelDuty.Least, s.least(Duty, 1e-3), 1},
		{"SteerSpan", s.SteerSpan.Seconds(), 1e-6, 10e-3},
		{"SteerAtSpan", s.SteerAtSpan, -2, 2},
		{"the span from ThrottleIdle to ThrottleFull", math.Abs((s.ThrottleFull - s.ThrottleIdle).Seconds()), 1e-6, 10e-3},
		{"the span from GainLow to GainHigh", math.Abs((s.GainHigh - s.GainLow).Seconds()), 1e-6, 10e-3},
		{"Wheelbase", s.Wheelbase, 1e-3, 100},
		{"UndersteerGradient", s.UndersteerGradient, -1, 1},
		{"LateralLimit", s.LateralLimit, 0, 1000},
		{"ShiftError less DeadBand", s.ShiftError - s.DeadBand, 1e-6, 1000},
		{"ShiftGain", s.ShiftGain, 1e-6, 1},
		{"ShiftIs", s.ShiftIs, 0, 1},
		{"DeadBand", s.DeadBand, 0, 1000},
		{"Cap", s.Cap, s.Floor, 1},
		{"Floor", s.Floor, s.lowest(), 1},
		{"YawJump", s.YawJump, 0, 1000},
		{"YawAgree", s.YawAgree, 0, s.YawJump},
	}, s.Law.ranges(s)...) {
		if !(c.value >= c.from && c.value <= c.to) {
			return fmt.Errorf("board settings: %s is %v; it has to lie from %v to %v (SI units)", c.name, c.value, c.from, c.to)
		}
	}
	if err := s.Output.check(); err != nil {
		return err
	}
	if err := s.Bus.check(); err != nil {
		return err
	}
	if err := s.YawFrame.check(); err != nil {
		return err
	}
	if err := s.Shaping.check(s); err != nil {
		return err
	}
	if err := s.Timing.check(s); err != nil {
		return err
	}
	return s.checkWords()
}

// checkWords returns an error that names the first unknown word.
func (s *Settings) checkWords() error {
	for _, w := range append([]wordOf{
		{"Wheels", string(s.Wheels), []string{"", string(Quadrature), string(Tacho), string(Duty)}},
		{"TurnFrom", string(s.TurnFrom), []string{string(TurnFromYawRate), string(TurnFromSteer), string(TurnFromDemand)}},
		{"OppositeLock", string(s.OppositeLock), []string{string(OppositeLockOversteer), string(OppositeLockNoShift), string(OppositeLockUndersteer), string(OppositeLockShare)}},
		{"AtTheLimit", string(s.AtTheLimit), limitWords},
		{"Recovers", string(s.Recovers), []string{string(ByItself), string(AtThrottleAtIdle), string(AtPowerCycle)}},
		{"SafeState", string(s.SafeState), []string{string(Idle), string(Silent)}},
		{"StartState", string(s.StartState), []string{string(Idle), string(Silent)}},
	}, append(s.Law.words(), s.endingWords()...)...) {
		if !slices.Contains(w.known, w.word) {
			return fmt.Errorf("board settings: %s is %q; use one of %q", w.name, w.word, w.known)
		}
	}
	for _, list := range [][]Place{s.Understeer.Raise, s.Understeer.Lower, s.Oversteer.Raise, s.Oversteer.Lower} {
		for _, p := range list {
			if _, ok := motorsOf[p]; !ok {
				return fmt.Errorf("board settings: %q is no place of a motor; use rear_left, outside_front or the like", p)
			}
		}
	}
	return nil
}
