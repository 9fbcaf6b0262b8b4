package suites_test

import (
	"testing"

	"github.com/stretchr/testify/assert"

	"hilrig/rig/board"
	"hilrig/suites"
	"hilrig/suites/language"
	"hilrig/suites/record"
)

// A policy without understeer leaves open what firmware shifts there. As the frames with the wrong value come, the wheels turn
// otherwise, and a shift by the fastest of them that had just room for itself then has none: the partner moves by twice
// as much. It kept its last yaw rate all the same.
func TestAShiftThatThePolicyLeavesOutMayGoWithTheWheels(t *testing.T) {
	f := bramble("", "split")
	f.Car.Data = edited(t, f.Car.Data,
		"  understeer: {raise: outside_rear, lower: inside_front}\n", "",
		"at_the_limit: cap", "at_the_limit: move_partner",
		"speed_from: mean", "speed_from: fastest",
		"is: 8 %", "is: 20 %",
	)
	const suite = `suite: wheels
about: A shift with just room for itself.
cases:
  - case: held
    baseline: {gain: 0 %}
    speed: 4 m/s
    steer: 12 deg
    yaw_rate: 50 deg/s
    throttle: 30 %
    gain: 51 %
    steps:
      - {step: before, settle: 200 ms, observe: 600 ms}
      - {step: lost, yaw_rate: 160 % of demand, settle: 100 ms, observe: 600 ms, faults: [{wire: yaw_rate, is: wrong_checksum}]}
    expect:
      - {policy: bad_checksum, step: lost}
`
	f.Suites = []language.Source{{Path: "wheels.yaml", Data: []byte(suite)}}
	s := load(t, f)
	b := board.Bramble()
	b.AtTheLimit, b.Law.SpeedFrom, b.ShiftIs = board.LimitMovePartner, "fastest", 0.2
	s.WithBoard("by the fastest wheel", b)
	r, _ := play(t, s, suites.Options{})
	assert.NotEqual(t, record.Fail, r.Suites[0].Cases[0].Checks[0].Verdict, r.Suites[0].Cases[0].Checks[0].Why)
}

// What a policy leaves out is not asked: firmware that leaves a car alone that turns too much is right by a policy of understeer alone.
func TestAPolicyOfOneBranchIsAskedNothingOfTheOther(t *testing.T) {
	for _, left := range []string{
		"  oversteer: {raise: outside_front, lower: outside_rear}\n",
		"  understeer: {raise: outside_rear, lower: inside_front}\n",
	} {
		for suite, only := range map[string]string{"timing": "response", "limits": "nothing wraps"} {
			f := bramble("from-policy", suite)
			f.Car.Data = edited(t, f.Car.Data, left, "")
			r, _ := play(t, load(t, f), suites.Options{Only: only})
			assert.Zero(t, r.Counts.Fail+r.Counts.Undecided, troubles(r))
			assert.NotZero(t, r.Counts.Pass)
		}
	}
}
