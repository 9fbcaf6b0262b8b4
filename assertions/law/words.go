package law

import (
	"fmt"
	"slices"
)

// Word is a kind of word that a car file's policy may have at a key. Its constants
// count from 1 in the order of its words; 0 means that the owner left the key out.
type Word interface {
	~uint8
	Words() []string
}

// WordFor returns what a word of a car file stands for, 0 where the kind has no such word.
func WordFor[W Word](word string) W {
	return W(slices.Index(W(0).Words(), word) + 1)
}

// wordOf returns the word of a constant as in car files, "" for 0.
func wordOf[W Word](w W) string {
	switch words := w.Words(); {
	case w == 0:
		return ""
	case int(w) > len(words):
		return fmt.Sprintf("policy word %d", uint8(w))
	default:
		return words[w-1]
	}
}

// TurnFrom says by what the firmware takes the outside of a turn; 0: by any of these.
type TurnFrom uint8

// The ways of telling the outside.
const (
	TurnFromYawRate TurnFrom = iota + 1
	TurnFromSteer
	TurnFromDemand
)

// Words lists the words as in car files, in the order of the constants.
func (TurnFrom) Words() []string { return []string{"yaw_rate", "steer", "demand"} }

// String returns the word as in car files.
func (w TurnFrom) String() string { return wordOf(w) }

// OppositeLock says what the board should do when demand and yaw rate have
// opposite signs.
type OppositeLock uint8

// The policies for opposite lock: as oversteer; no shift; by the sign of the yaw error, which
// is as understeer; or a share of what oversteer asks for.
const (
	OppositeLockOversteer OppositeLock = iota + 1
	OppositeLockNoShift
	OppositeLockUndersteer
	OppositeLockShare
)

// Words lists the words as in car files, in the order of the constants.
func (OppositeLock) Words() []string { return []string{"oversteer", "no_shift", "understeer", "share"} }

// String returns the word as in car files.
func (w OppositeLock) String() string { return wordOf(w) }

// AtTheLimit says what the board should do when a motor that it would raise is
// at its cap, or one that it would lower at its floor.
type AtTheLimit uint8

// The policies at a motor's limit: the limited motor stays there and its partner moves as it
// would anyway; the same with the partner's amount doubled; the limited motor does not move
// at all and the partner's amount is doubled; or all motors' shifts are made smaller by one
// factor, so that the farthest comes just to its limit.
const (
	LimitCap AtTheLimit = iota + 1
	LimitMovePartner
	LimitPartnerOnly
	LimitScale
)

// Words lists the words as in car files, in the order of the constants.
func (AtTheLimit) Words() []string { return []string{"cap", "move_partner", "partner_only", "scale"} }

// String returns the word as in car files.
func (w AtTheLimit) String() string { return wordOf(w) }

// Reverse says what the board should do when the car rolls backwards.
type Reverse uint8

// The policies for rolling backwards: no shift; the same motors as forwards, by the sizes of
// demand and yaw rate; or those of the other end of the car, as if it drove that end first.
const (
	ReverseNoShift Reverse = iota + 1
	ReverseAsForward
	ReverseMirrored
)

// Words lists the words as in car files, in the order of the constants.
func (Reverse) Words() []string { return []string{"no_shift", "as_forward", "mirrored"} }

// String returns the word as in car files.
func (w Reverse) String() string { return wordOf(w) }

// Input is something that a board may wait for after power-up.
type Input uint8

// The inputs: the receiver's three channels, and the yaw rate.
const (
	InputThrottle Input = iota + 1
	InputSteer
	InputGain
	InputYawRate
)

// Words lists the words as in car files, in the order of the constants.
func (Input) Words() []string { return []string{"throttle", "steer", "gain", "yaw_rate"} }

// String returns the word as in car files.
func (w Input) String() string { return wordOf(w) }

// BadChecksum says what the board should do with frames whose checksum is wrong.
type BadChecksum uint8

// BadChecksumIgnored is the one policy for a wrong checksum.
const BadChecksumIgnored BadChecksum = 1

// Words lists the words as in car files, in the order of the constants.
func (BadChecksum) Words() []string { return []string{"ignored"} }

// String returns the word as in car files.
func (w BadChecksum) String() string { return wordOf(w) }

// BadPulse says what the board should do with receiver pulses that are too short or too long to stand for anything.
type BadPulse uint8

// BadPulseIgnored is the one policy for such a pulse.
const BadPulseIgnored BadPulse = 1

// Words lists the words as in car files, in the order of the constants.
func (BadPulse) Words() []string { return []string{"ignored"} }

// String returns the word as in car files.
func (w BadPulse) String() string { return wordOf(w) }

// Recovers says what a board needs after a loss is over, to drive again.
type Recovers uint8

// The ways of recovery: nothing, the throttle once at idle, or a power cycle.
const (
	RecoversByItself Recovers = iota + 1
	RecoversAtThrottleIdle
	RecoversAtPowerCycle
)

// Words lists the words as in car files, in the order of the constants.
func (Recovers) Words() []string { return []string{"by_itself", "throttle_at_idle", "power_cycle"} }

// String returns the word as in car files.
func (w Recovers) String() string { return wordOf(w) }

// Outputs says what the motor lines carry while no motor may be driven.
type Outputs uint8

// The states of outputs: commands at idle; no commands; or either, as of a board that sends nothing while it boots and idle
// then.
const (
	OutputsIdle Outputs = iota + 1
	OutputsSilent
	OutputsIdleOrSilent
)

// Words lists the words as in car files, in the order of the constants.
func (Outputs) Words() []string { return []string{"idle", "silent", "idle_or_silent"} }

// String returns the word as in car files.
func (w Outputs) String() string { return wordOf(w) }

// Braking says what the board should do while it brakes.
type Braking uint8

// BrakingNoShift is the one policy for braking.
const BrakingNoShift Braking = 1

// Words lists the words as in car files, in the order of the constants.
func (Braking) Words() []string { return []string{"no_shift"} }

// String returns the word as in car files.
func (w Braking) String() string { return wordOf(w) }

// CapCut says whether a command above the cap is cut before the shift is added, so that what
// is lowered starts from the cap, or after; 0: either.
type CapCut uint8

// The two places of the cut.
const (
	CapBeforeShift CapCut = iota + 1
	CapAfterShift
)

// Words lists the words as in car files, in the order of the constants.
func (CapCut) Words() []string { return []string{"before_shift", "after_shift"} }

// String returns the word as in car files.
func (w CapCut) String() string { return wordOf(w) }

// Growth says how a shift grows with the yaw error; 0: in proportion.
type Growth uint8

// The ways of growing: in proportion; less and less, up to a bound; or with time, while the
// error lasts, up to a bound.
const (
	GrowthProportional Growth = iota + 1
	GrowthSaturating
	GrowthIntegrating
)

// Words lists the words as in car files, in the order of the constants.
func (Growth) Words() []string { return []string{"proportional", "saturating", "integrating"} }

// String returns the word as in car files.
func (w Growth) String() string { return wordOf(w) }

// SpeedFrom says of which wheels the firmware takes the car's speed; 0: any.
type SpeedFrom uint8

// The ways of taking the speed.
const (
	SpeedFromMean SpeedFrom = iota + 1
	SpeedFromFront
	SpeedFromRear
	SpeedFromSlowest
	SpeedFromSecondSlowest
	SpeedFromSecondFastest
	SpeedFromFastest
)

// Words lists the words as in car files, in the order of the constants.
func (SpeedFrom) Words() []string {
	return []string{"mean", "front_mean", "rear_mean", "slowest", "second_slowest", "second_fastest", "fastest"}
}

// String returns the word as in car files.
func (w SpeedFrom) String() string { return wordOf(w) }

// ThrottleCurve says what the firmware makes of the throttle; 0: any.
type ThrottleCurve uint8

// The curves: none, so that a command with no shift is the throttle; one that is measured at
// the beginning of a run; or any, of which nothing is asked.
const (
	ThrottleCurveNone ThrottleCurve = iota + 1
	ThrottleCurveCalibrated
	ThrottleCurveAny
)

// Words lists the words as in car files, in the order of the constants.
func (ThrottleCurve) Words() []string { return []string{"none", "calibrated", "any"} }

// String returns the word as in car files.
func (w ThrottleCurve) String() string { return wordOf(w) }

// LossThen says what a board does after a loss.
type LossThen uint8

// What a board does: no shift, the throttle driving on; idle on all motors; nothing, it goes
// on as if nothing were lost; it holds the last value; or it takes a declared value.
const (
	LossNoShift LossThen = iota + 1
	LossIdle
	LossIgnored
	LossHeld
	LossValue
)

// Words lists the words as in records, in the order of the constants.
func (LossThen) Words() []string { return []string{"no_shift", "idle", "ignored", "held", "value"} }

// String returns the word as in records.
func (w LossThen) String() string { return wordOf(w) }
