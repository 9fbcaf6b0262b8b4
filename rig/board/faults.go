package board

import (
	"cmp"
	"fmt"
	"slices"
	"strings"
)

// Fault is one seeded fault of the built-in controller.
type Fault struct {
	Name     string // "no_cap"
	Sentence string // what is wrong
	Key      string // the policy key that makes it a fault, "cap"
}

// fault is one seeded fault: an index into seeded, and behind that into seededAtPlaces, seededInTime and seededInFrames.
type fault uint8

// The seeded faults that show wherever and whenever the car is driven.
const (
	checksumUnchecked fault = iota
	coarseCommand
	degreesForRadians
	drivesAtOnce
	encoderDead
	encoderLossUnnoticed
	frozenBelieved
	gainIgnored
	leftRight
	motorsUnequal
	neverRecovers
	noCap
	noStandstill
	oneBranch
	oppositeUndersteer
	outputsStaggered
	oversteerPair
	partnerStays
	reverseShifts
	slowFilter
	slowLoop
	spikeBelieved
	steerHeld
	steerSign
	sumLost
	throttleHeld
	turnFromOther
	wrapBelowZero
	wrongWheelbase
	yawHeld
	yawSign
)

// seeded lists them, sorted by name.
var seeded = [...]Fault{
	checksumUnchecked:    {"checksum_unchecked", "Yaw frames with a wrong checksum are taken as good.", "bad_checksum"},
	coarseCommand:        {"coarse_command", "Motor pulses are rounded down to steps of 20 us, 2 % of range.", "resolution"},
	degreesForRadians:    {"degrees_for_radians", "The demand is worked out with the steer angle in degrees where the formula needs radians.", "demand"},
	drivesAtOnce:         {"drives_at_once", "After power-up the motors follow the throttle before the other inputs have been seen.", "start"},
	encoderDead:          {"encoder_dead", "The count of the rear left encoder is never read: its wheel speed is always 0.", "demand"},
	encoderLossUnnoticed: {"encoder_loss_unnoticed", "An encoder that falls silent while the other wheels turn does not stop the shift.", "encoder_lost"},
	frozenBelieved:       {"frozen_believed", "A yaw rate that has frozen while frames go on is believed.", "yaw_frozen"},
	gainIgnored:          {"gain_ignored", "The gain trim is not used: the shift is always that of 50 % gain.", "shift_at"},
	leftRight:            {"left_right", "The motor outputs of the left and right wheels are swapped.", "understeer"},
	motorsUnequal:        {"motors_unequal", "The front right motor gets 5 % less than its command.", "motors_equal_within"},
	neverRecovers:        {"never_recovers", "A failsafe once tripped stays until the next power-up.", "recovers"},
	noCap:                {"no_cap", "The cap on the commands while the steering is turned is missing.", "cap"},
	noStandstill:         {"no_standstill", "Torque is shifted at standstill too.", "standstill"},
	oneBranch:            {"one_branch", "The oversteer branch never acts.", "oversteer"},
	oppositeUndersteer:   {"opposite_understeer", "Under opposite lock the understeer branch acts.", "opposite_lock"},
	outputsStaggered:     {"outputs_staggered", "The motor pulses begin one after the other, 300 us apart.", "outputs_together"},
	oversteerPair:        {"oversteer_pair", "In the oversteer branch front and rear motors are exchanged.", "oversteer"},
	partnerStays:         {"partner_stays", "When the motor to be raised is at its limit, its partner is not lowered either.", "at_the_limit"},
	reverseShifts:        {"reverse_shifts", "Torque is shifted while the car rolls backwards.", "reverse"},
	slowFilter:           {"slow_filter", "The yaw rate runs through a filter of 16 loop periods.", "response"},
	slowLoop:             {"slow_loop", "The control loop runs at half its rate.", "loop_rate"},
	spikeBelieved:        {"spike_believed", "A jump of the yaw rate is believed without a second frame that confirms it.", "spike"},
	steerHeld:            {"steer_held", "When the steering pulse is lost, the last steer angle is used for ever.", "steer_lost"},
	steerSign:            {"steer_sign", "The steer angle is taken with the wrong sign.", "demand"},
	sumLost:              {"sum_lost", "Motors are raised, but their partners are not lowered.", "sum"},
	throttleHeld:         {"throttle_held", "When the throttle pulse is lost, the last throttle is used for ever.", "throttle_lost"},
	turnFromOther:        {"turn_from_other", "The outside of the turn is taken from the yaw rate where the steering is meant, and the other way about.", "turn_from"},
	wrapBelowZero:        {"wrap_below_zero", "A command less its shift wraps through an unsigned 16 bit value to full throttle.", "floor"},
	wrongWheelbase:       {"wrong_wheelbase", "The demand is worked out with a wheelbase a quarter too short.", "demand"},
	yawHeld:              {"yaw_held", "When yaw frames are lost, the last yaw rate is used for ever.", "yaw_lost"},
	yawSign:              {"yaw_sign", "The yaw rate is taken with the wrong sign.", "understeer"},
}

// listed returns all of them in the order of their constants.
func listed() []Fault {
	return slices.Concat(seeded[:], seededAtPlaces[:], seededInTime[:], seededInFrames[:])
}

// Faults returns the seeded faults of the built-in controller by name. The
// slice is the caller's.
func Faults() []Fault {
	all := listed()
	slices.SortFunc(all, func(a, b Fault) int { return cmp.Compare(a.Name, b.Name) })
	return all
}

// WithFault returns s with the seeded fault of that name switched on, beside
// those already on. An unknown name is an error that lists the nearest ones.
func WithFault(s Settings, name string) (Settings, error) {
	i := slices.IndexFunc(listed(), func(f Fault) bool { return f.Name == name })
	if i < 0 {
		return s, fmt.Errorf("seeded fault %q is unknown; nearest are %s", name, strings.Join(nearest(name, 3), ", "))
	}
	s.faults[i] = true
	if s.named != "" {
		s.named += "+"
	}
	s.named += name
	return s, nil
}

// has reports whether a seeded fault is switched on.
func (b *BuiltIn) has(f fault) bool { return b.settings.faults[f] }

// nearest returns the n names that need the fewest changes to become name.
func nearest(name string, n int) []string {
	var names []string
	for _, f := range Faults() {
		names = append(names, f.Name)
	}
	slices.SortStableFunc(names, func(a, b string) int { return cmp.Compare(changes(name, a), changes(name, b)) })
	return names[:n]
}

// changes returns how many letters have to be put in, taken out or replaced to
// make a into b.
func changes(a, b string) int {
	row := make([]int, len(b)+1)
	for j := range row {
		row[j] = j
	}
	for i := range len(a) {
		diagonal := row[0]
		row[0] = i + 1
		for j := range len(b) {
			cost := diagonal
			if a[i] != b[j] {
				cost++
			}
			diagonal = row[j+1]
			row[j+1] = min(cost, row[j]+1, row[j+1]+1)
		}
	}
	return row[len(b)]
}
