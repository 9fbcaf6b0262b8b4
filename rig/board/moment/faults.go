package moment

import (
	"fmt"
	"slices"
	"strings"
)

// faultSet has a bit for each fault that is switched on.
type faultSet uint64

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
	fadeEarly
	gapInPower
	gapInSpeed
	sidesInThrottle
	frameCorrupt
	rearLate
	recoveryKick
	integralUnbounded
)

// Fault is one seeded fault of this controller.
type Fault struct {
	Name     string // "integral_kept"
	Sentence string // what is wrong
	Key      string // the policy key that makes it a fault
	Harmless string // why nothing that the board sends differs, so that what fails on it is wrong; "": it does
	Unasked  string // why no suite may find it; "": one has to
	bit      faultSet
}

var faults = []Fault{
	{"band_missing", "Torque is shifted with the steering straight ahead too.", "straight", "", "", bandMissing},
	{"calibration_skipped", "The yaw-rate sensor's offset is taken for 0, and the car need not have stood still.", "start_at_rest", "", "", calibrationSkipped},
	{"cap_missing", "Full throttle goes to the motors beyond the cap.", "cap", "", "", capMissing},
	{"counter_ignored", "A yaw-rate sensor whose counter stands still is believed.", "sequence_frozen", "", "", counterIgnored},
	{"crc_unchecked", "Yaw frames with a wrong checksum are believed.", "bad_checksum", "", "", crcUnchecked},
	{"demand_unclipped", "The demand is not held within the highest yaw rate.", "demand", "", "", demandUnclipped},
	{"fade_early", "The shift fades in at a fifth of the speed.", "standstill", "", "", fadeEarly},
	{"fade_late", "The shift fades in at three times the speed.", "understeer", "", "", fadeLate},
	{"failsafe_ignored", "The receiver's flags do not count.", "receiver_flag", "", "", failsafeIgnored},
	{"floor_missing", "A motor may be lowered to 0.", "floor", "", "", floorMissing},
	{"frame_corrupt", "Every fortieth frame to the rear left motor has a wrong checksum.", "corrupt_frames", "", "", frameCorrupt},
	{"frame_dropped", "Every fortieth frame to the rear left motor is not sent.", "longest_gap", "", "", frameDropped},
	{"gain_continuous", "The gain switch is read as a knob.", "gain_steps", "", "", gainContinuous},
	{"gap_in_power", "Above 5 m/s and 60 % of throttle together no torque is shifted.", "understeer", "", "", gapInPower},
	{"gap_in_speed", "From 6 to 8 m/s no torque is shifted.", "understeer", "", "", gapInSpeed},
	{"gradient_missing", "The demand leaves out the understeer gradient.", "demand", "", "", gradientMissing},
	{"integral_kept", "The integral is neither cleared at low speed nor bled at idle.", "shift_at", "", "the policy does not say when the memory of a shift that gathers with time goes", integralKept},
	{"integral_sign", "The integral works against the error.", "shift_at", "", "", integralSign},
	{"integral_unbounded", "The integral goes on growing while the moment is at its limit (wind-up).", "shift_at", "", "", integralUnbounded},
	{"lock_ignored", "No shift where demand and yaw rate have opposite signs.", "opposite_lock", "", "", lockIgnored},
	{"loop_halved", "The loop runs at half its rate.", "longest_gap", "", "", loopHalved},
	{"one_rear_wheel", "The speed is that of the rear left wheel alone.", "demand", "", "one rear wheel and the mean of both differ by less than what a shift that gathers tells of the demand", oneRearWheel},
	{"rear_late", "The rear motors are sent their commands two turns of the loop late.", "outputs_together", "", "", rearLate},
	{"recovers_at_once", "After a failsafe the motors turn without the throttle having been at idle.", "recovers", "", "", recoversAtOnce},
	{"recovery_kick", "As the motors may turn again after a failsafe, they run at full throttle for 50 ms.", "recovers", "", "", recoveryKick},
	{"scaled_alone", "Only the motor at its limit is held back, the others shift on.", "sum", "", "at a limit of a motor nothing is asked of a shift that gathers with time", scaledAlone},
	{"shares_exchanged", "The front motors take the share of the rear ones, and the other way round.", "understeer", "", "", sharesExchanged},
	{"shift_at_idle", "Torque is shifted with the throttle at idle.", "understeer", "", "the policy has no word for a shift with the throttle at idle", shiftAtIdle},
	{"sides_exchanged", "The moment is to the other side.", "understeer", "", "", sidesExchanged},
	{"sides_in_throttle", "From 55 to 75 % of throttle the moment is to the other side.", "understeer", "", "", sidesInThrottle},
	{"speed_unsigned", "Rolling backwards counts as rolling forward.", "reverse", "", "", speedUnsigned},
	{"wheel_kept", "A wheel that disagrees with the others counts as before.", "encoder_lost", "", "the checks leave open whether firmware leaves a lost wheel out or takes it to stand", wheelKept},
	{"wheels_exchanged", "The encoders of left and right are exchanged.", "demand", "the speed is a mean of both sides, which is the same when they are exchanged", "", wheelsExchanged},
	{"yaw_held", "The last yaw rate is held for good when the sensor is lost.", "yaw_lost", "", "", yawHeld},
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
