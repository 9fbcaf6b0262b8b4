package file

import (
	"strings"

	"hilrig/suites/language"
)

// otherwises is what holds where a key is left out whose own words do not say it: by table and key, by the
// beginning of a table's name alone, or by the key alone. The first that fits counts.
var otherwises = []struct{ table, key, says string }{
	{"", "about", "nothing is said of it"},
	{"a car file", "track", "front_track and rear_track are needed"},
	{"a car file", "front_track", "track"},
	{"a car file", "rear_track", "track"},
	{"a car file", "policy", "nothing is asked"},
	{"a car file", "", "guessed"},
	{"the aerodynamics", "rear_lift_area", "0"},
	{"a policy", "opposite_lock_share", "needed with opposite_lock: share"},
	{"a policy", "", "that is not asked"},
	{"a branch of the torque split", "", "needed, or the other of both"},
	{"a loss of the gain trim", "value", "another of these keys is needed"},
	{"a loss of the gain trim", "within", "needed with value"},
	{"a loss", "", "another of these keys is needed"},
	{"a bench file", "pins", "needed on a Raspberry Pi"},
	{"a stand file", "pins", "needed on a Raspberry Pi"},
	{"", "interlock", "motors_powered: signals_only is the only level"},
	{"a bench file", "board", "what its keys say"},
	{"a bench file", "substituted", "nothing is"},
	{"the pins of a stand", "", "needed where the stand has that wire; `hilrig wiring` proposes one"},
	{"the pins", "", "needed where the bench has that wire; `hilrig wiring` proposes one"},
	{"the interlock", "", "`hilrig wiring` gives no values of the circuit"},
	{"the board's life", "between_cases", "the car at rest for 1 s"},
	{"one wheel's", "", "as at the other wheels"},
	{"the wheels of a baseline", "", "turns as the car does"},
	{"the wheels of", "", "as at the other wheels"},
	{"the wheels", "", "turns as the car does"},
	{"", "forward", "needed with two_direction"},
	{"", "noise", "the least"},
	{"", "device", "a simulated bench needs none"},
	{"a check field", "poly", "needed with crc8 and crc16"},
	{"the defaults", "", "each case says it"},
	{"a suite file", "defaults", "each case says all"},
	{"a case", "each", "the case has one variant"},
	{"a case", "together", "the case has one variant"},
	{"a case", "hold", "needed, or steps or replay"},
	{"a case", "steps", "needed, or hold or replay"},
	{"a case", "replay", "needed, or hold or steps"},
	{"a case", "baseline", "as the meaning says"},
	{"each", "", "that of the case"},
	{"a row of together", "", "that of the case"},
	{"", "turn", "left"},
	{"a sweep", "", "one of these keys is needed"},
	{"trials", "", "one of these keys is needed"},
	{"the slip", "", "rolls freely"},
	{"a case", "slip", "all roll freely"},
	{"a baseline", "slip", "that of the first step"},
	{"a case", "wheels", "all turn as the car does"},
	{"a case", "", "that of the defaults"},
	{"a baseline", "wheels", "those of the first step"},
	{"a baseline", "", "that of the first step"},
	{"", "wheels", "all are alike"},
	{"", "faults", "no wire is faulted"},
	{"", "bumps", "the ground is even"},
	{"", "sweep", "nothing is swept"},
	{"", "trials", "nothing is tried"},
	{"a hold", "", "that of the case"},
	{"a step", "", "that of the case"},
	{"an expectation of", "", "another of these keys is needed"},
	{"what measures the motor", "", "it is not there"},
	{"the limits", "", "it is measured and not judged"},
}

// whereLeftOut returns what holds where a key of a table is left out; "" where nothing says it.
func whereLeftOut(t *language.Table, k *language.Key) string {
	for i, o := range otherwises {
		if (o.key == "" || o.key == k.Name) && strings.HasPrefix(t.Name, o.table) {
			used[i] = true
			return o.says
		}
	}
	return ""
}

// used are those of otherwises that a page needed.
var used = map[int]bool{}

// Unused lists what is said and no key needs.
func Unused() (says []string) {
	for i, o := range otherwises {
		if !used[i] {
			says = append(says, o.table+": "+o.key+": "+o.says)
		}
	}
	return says
}

// StepNeeds is stepNeeds.
var StepNeeds = stepNeeds
