package board

import (
	"fmt"
	"sort"
	"strings"
)

// Fault is one seeded fault of the built-in controller.
type Fault struct {
	Name     string // "no_cap"
	Sentence string // what is wrong
	Key      string // the policy key that makes it a fault, "cap"
}

// The seeded faults.
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

// seeded lists the faults by name.
var seeded = []struct {
	Fault
	is fault
}{
	{Fault{"checksum_unchecked", "Yaw frames with a wrong checksum are taken as good.", "bad_checksum"}, checksumUnchecked},
	{Fault{"coarse_command", "Motor pulses are rounded down to steps of 20 us, 2 % of range.", "resolution"}, coarseCommand},
	{Fault{"degrees_for_radians", "The demand is worked out with the steer angle in degrees where the formula needs radians.", "demand"}, degreesForRadians},
	{Fault{"drives_at_once", "After power-up the motors follow the throttle before the other inputs have been seen.", "start"}, drivesAtOnce},
	{Fault{"encoder_dead", "The count of the rear left encoder is never read: its wheel speed is always 0.", "demand"}, encoderDead},
	{Fault{"encoder_loss_unnoticed", "An encoder that falls silent while the other wheels turn does not stop the shift.", "encoder_lost"}, encoderLossUnnoticed},
	{Fault{"frozen_believed", "A yaw rate that has frozen while frames go on is believed.", "yaw_frozen"}, frozenBelieved},
	{Fault{"gain_ignored", "The gain trim is not used: the shift is always that of 50 % gain.", "shift_at"}, gainIgnored},
	{Fault{"left_right", "The motor outputs of the left and right wheels are swapped.", "understeer"}, leftRight},
	{Fault{"motors_unequal", "The front right motor gets 5 % less than its command.", "motors_equal_within"}, motorsUnequal},
	{Fault{"never_recovers", "A failsafe once tripped stays until the next power-up.", "recovers"}, neverRecovers},
	{Fault{"no_cap", "The cap on the commands while the steering is turned is missing.", "cap"}, noCap},
	{Fault{"no_standstill", "Torque is shifted at standstill too.", "standstill"}, noStandstill},
	{Fault{"one_branch", "The oversteer branch never acts.", "oversteer"}, oneBranch},
	{Fault{"opposite_understeer", "Under opposite lock the understeer branch acts.", "opposite_lock"}, oppositeUndersteer},
	{Fault{"outputs_staggered", "The motor pulses begin one after the other, 300 us apart.", "outputs_together"}, outputsStaggered},
	{Fault{"oversteer_pair", "In the oversteer branch front and rear motors are exchanged.", "oversteer"}, oversteerPair},
	{Fault{"partner_stays", "When the motor to be raised is at its limit, its partner is not lowered either.", "at_the_limit"}, partnerStays},
	{Fault{"reverse_shifts", "Torque is shifted while the car rolls backwards.", "reverse"}, reverseShifts},
	{Fault{"slow_filter", "The yaw rate runs through a filter of 16 loop periods.", "response"}, slowFilter},
	{Fault{"slow_loop", "The control loop runs at half its rate.", "loop_rate"}, slowLoop},
	{Fault{"spike_believed", "A jump of the yaw rate is believed without a second frame that confirms it.", "spike"}, spikeBelieved},
	{Fault{"steer_held", "When the steering pulse is lost, the last steer angle is used for ever.", "steer_lost"}, steerHeld},
	{Fault{"steer_sign", "The steer angle is taken with the wrong sign.", "demand"}, steerSign},
	{Fault{"sum_lost", "Motors are raised, but their partners are not lowered.", "sum"}, sumLost},
	{Fault{"throttle_held", "When the throttle pulse is lost, the last throttle is used for ever.", "throttle_lost"}, throttleHeld},
	{Fault{"turn_from_other", "The outside of the turn is taken from the yaw rate where the steering is meant, and the other way about.", "turn_from"}, turnFromOther},
	{Fault{"wrap_below_zero", "A command less its shift wraps through an unsigned 16 bit value to full throttle.", "floor"}, wrapBelowZero},
	{Fault{"wrong_wheelbase", "The demand is worked out with a wheelbase a quarter too short.", "demand"}, wrongWheelbase},
	{Fault{"yaw_held", "When yaw frames are lost, the last yaw rate is used for ever.", "yaw_lost"}, yawHeld},
	{Fault{"yaw_sign", "The yaw rate is taken with the wrong sign.", "understeer"}, yawSign},
}

// Faults returns the seeded faults of the built-in controller by name. The
// slice is the caller's.
func Faults() []Fault {
	list := make([]Fault, len(seeded))
	for i := range seeded {
		list[i] = seeded[i].Fault
	}
	return list
}

// WithFault returns s with the seeded fault of that name switched on, beside
// those already on. An unknown name is an error that lists the nearest ones.
func WithFault(s Settings, name string) (Settings, error) {
	for i := range seeded {
		if seeded[i].Name != name {
			continue
		}
		s.faults = s.faults.with(seeded[i].is)
		if s.named != "" {
			s.named += "+"
		}
		s.named += name
		return s, nil
	}
	return s, fmt.Errorf("seeded fault %q is unknown; nearest are %s", name, strings.Join(nearest(name, 3), ", "))
}

// has reports whether a seeded fault is switched on.
func (b *BuiltIn) has(f fault) bool { return b.settings.faults.has(f) }

// nearest returns the n names that need the fewest changes to become name.
func nearest(name string, n int) []string {
	names := make([]string, len(seeded))
	for i := range seeded {
		names[i] = seeded[i].Name
	}
	sort.SliceStable(names, func(i, j int) bool { return changes(name, names[i]) < changes(name, names[j]) })
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
