package suites_test

import (
	"testing"

	"github.com/stretchr/testify/assert"

	"hilrig/suites"
	"hilrig/suites/language"
	"hilrig/suites/record"
)

// About a yaw rate of 0 the sensor's noise takes the readings to either side. Firmware that drops what has gathered when
// they stand against the demand is right to shift nothing to speak of there, and by a yaw rate clear of 0 it is held to its shift.
func TestAShiftThatGathersIsNotHeldToNoiseAboutAYawRateOfZero(t *testing.T) {
	f := bramble("from-policy", "split")
	f.Car.Data = edited(t, f.Car.Data,
		"opposite_lock: oversteer", "opposite_lock: no_shift",
		"is: 8 %, within: 10 %}", "is: 8 %, within: 10 %, grows: integrating, most: 12 %}",
	)
	const suite = `suite: about zero
about: A yaw rate of 0 and one clear of it.
cases:
  - case: held
    baseline: {gain: 0 %, settle: 300 ms, observe: 400 ms}
    speed: 6 m/s
    steer: -12 deg
    throttle: 40 %
    gain: 100 %
    each: {yaw_rate: [0 deg/s, -5 deg/s]}
    hold: {settle: 1100 ms, observe: 400 ms}
    expect:
      - {policy: understeer}
`
	f.Suites = []language.Source{{Path: "zero.yaml", Data: []byte(suite)}}
	r, _ := play(t, load(t, f), suites.Options{})
	assert.Zero(t, r.Counts.Fail, troubles(r))
	zero, clear := r.Suites[0].Cases[0], r.Suites[0].Cases[1]
	assert.Equal(t, record.Undecided, zero.Verdict)
	assert.Contains(t, zero.Checks[0].Why, "hold a yaw rate farther from 0")
	assert.Equal(t, record.Pass, clear.Verdict, clear.Checks)
}

// A motor that has no room for its shift at the end of the range stays where it was by the policy's partner_only, and its
// partner is lowered by twice as much: the sum is not kept, and is not asked for.
func TestTheSumIsNotAskedWhereAMotorStaysForWantOfRoom(t *testing.T) {
	f := bramble("from-policy", "split")
	f.Car.Data = edited(t, f.Car.Data,
		"at_the_limit: cap", "at_the_limit: partner_only",
		"steer_above: 2 deg}", "steer_above: 2 deg, cut: before_shift}",
	)
	const suite = `suite: no room
about: A shift of more than the 20 % to full throttle.
cases:
  - case: held
    baseline: {gain: 0 %, settle: 300 ms, observe: 400 ms}
    speed: 6 m/s
    steer: 8 deg
    throttle: 80 %
    gain: 100 %
    hold: {yaw_rate: 190 % of demand, settle: 300 ms, observe: 400 ms}
    expect:
      - {policy: oversteer}
`
	f.Suites = []language.Source{{Path: "room.yaml", Data: []byte(suite)}}
	r, _ := play(t, load(t, f), suites.Options{})
	assert.Equal(t, record.Go, r.Outcome, troubles(r))
	for _, c := range r.Suites[0].Cases[0].Checks {
		assert.NotContains(t, c.Name, "sum kept")
	}
}
