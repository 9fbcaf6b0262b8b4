package moment

import (
	"fmt"
	"slices"
	"strings"
)

// faultSet has a bit for each fault that is switched on.
type faultSet uint32

// The faults.
const (
	integralKept faultSet = 1 << iota
	integralSign
	sharesExchanged
	sidesExchanged
	scaledAlone
	capMissing
	floorMissing
	fadeLate
	bandMissing
	lockIgnored
	shiftAtIdle
	gradientMissing
	demandUnclipped
	gainContinuous
	oneRearWheel
	wheelKept
	wheelsExchanged
	speedUnsigned
	crcUnchecked
	counterIgnored
	yawHeld
	failsafeIgnored
	recoversAtOnce
	calibrationSkipped
	loopHalved
	frameDropped
)

// Fault is one seeded fault of this controller.
type Fault struct {
	Name     string // "integral_kept"
	Sentence string // what is wrong
	Key      string // the policy key that makes it a fault; "": the policy has no word for it
	Harmless bool   // nothing that the board sends differs: what fails on it is wrong
	bit      faultSet
}

var faults = []Fault{
	{"band_missing", "torque is shifted with the steering straight ahead too", "", false, bandMissing},
	{"calibration_skipped", "the yaw-rate sensor's offset is taken for 0, and the car need not have stood still", "start", false, calibrationSkipped},
	{"cap_missing", "full throttle goes to the motors beyond the cap", "cap", false, capMissing},
	{"counter_ignored", "a yaw-rate sensor whose counter stands still is believed", "", false, counterIgnored},
	{"crc_unchecked", "yaw frames with a wrong checksum are believed", "bad_checksum", false, crcUnchecked},
	{"demand_unclipped", "the demand is not held within the highest yaw rate", "", false, demandUnclipped},
	{"fade_late", "the shift fades in at three times the speed", "understeer", false, fadeLate},
	{"failsafe_ignored", "the receiver's flags do not count", "", false, failsafeIgnored},
	{"floor_missing", "a motor may be lowered to 0", "floor", false, floorMissing},
	{"frame_dropped", "every fortieth frame to the rear left motor is not sent", "", false, frameDropped},
	{"gain_continuous", "the gain switch is read as a knob", "", false, gainContinuous},
	{"gradient_missing", "the demand leaves out the understeer gradient", "demand", false, gradientMissing},
	{"integral_kept", "the integral is neither cleared at low speed nor bled at idle", "", false, integralKept},
	{"integral_sign", "the integral works against the error", "", false, integralSign},
	{"lock_ignored", "no shift where demand and yaw rate have opposite signs", "", false, lockIgnored},
	{"loop_halved", "the loop runs at half its rate", "loop_rate", false, loopHalved},
	{"one_rear_wheel", "the speed is that of the rear left wheel alone", "", false, oneRearWheel},
	{"recovers_at_once", "after a failsafe the motors turn without the throttle having been at idle", "recovers", false, recoversAtOnce},
	{"scaled_alone", "only the motor at its limit is held back, the others shift on", "sum", false, scaledAlone},
	{"shares_exchanged", "the front motors take the share of the rear ones, and the other way round", "", false, sharesExchanged},
	{"shift_at_idle", "torque is shifted with the throttle at idle", "", false, shiftAtIdle},
	{"sides_exchanged", "the moment is to the other side", "understeer", false, sidesExchanged},
	{"speed_unsigned", "rolling backwards counts as rolling forward", "reverse", false, speedUnsigned},
	{"wheel_kept", "a wheel that disagrees with the others counts as before", "", false, wheelKept},
	{"wheels_exchanged", "the encoders of left and right are exchanged, which a mean does not show", "", true, wheelsExchanged},
	{"yaw_held", "the last yaw rate is held for good when the sensor is lost", "yaw_lost", false, yawHeld},
}

// Faults returns the seeded faults of this controller by name. The slice is the caller's.
func Faults() []Fault { return slices.Clone(faults) }

// WithFault returns s with the seeded fault of that name switched on, beside those already on. An
// unknown name is an error that lists those that there are.
func WithFault(s Settings, name string) (Settings, error) {
	names := make([]string, len(faults))
	for i, f := range faults {
		if f.Name == name {
			s.faults |= f.bit
			return s, nil
		}
		names[i] = f.Name
	}
	return s, fmt.Errorf("seeded fault %q of built-in/moment is not known; use one of %s", name, strings.Join(names, ", "))
}

// has says whether a fault is switched on.
func (s *Settings) has(f faultSet) bool { return s.faults&f != 0 }
