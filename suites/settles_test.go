package suites_test

import (
	"testing"

	"github.com/stretchr/testify/assert"

	"hilrig/suites"
	"hilrig/suites/language"
	"hilrig/suites/record"
)

// remembering is a policy whose firmware adds a derivative of the yaw error, feeds the rate of the steering forward, and filters its
// commands: what the car did as it came to the baseline goes on for long.
func remembering(t *testing.T, f suites.Files) suites.Files {
	t.Helper()
	f.Car.Data = edited(t, f.Car.Data,
		"    within: 5 %", "    within: 5 %\n    steer_rate: 20 ms",
		"is: 8 %, within: 10 %}", "is: 16 %, within: 10 %, derivative_time: 60 ms}\n  smoothing: {filter: 40 ms}",
		"at_the_limit: cap", "at_the_limit: scale",
	)
	return f
}

// The first step of a case settles from when the car has come to what it holds, so that no command that is judged rests on the way
// there: by that, motors might come to their limits as the shifts of the step do not take them.
func TestTheFirstStepSettlesOnceTheCarHasComeThere(t *testing.T) {
	r, _ := play(t, load(t, remembering(t, bramble("from-policy", "split"))), suites.Options{Only: "oversteer turns torque out"})
	assert.Zero(t, r.Counts.Fail+r.Counts.Undecided, troubles(r))
	assert.NotZero(t, r.Counts.Pass)
}

// Where an owner's own case settles too little for that, it is said, and no shift that would not come so far is said to.
func TestASettlingTooShortForWhatThePolicyRemembersIsSaid(t *testing.T) {
	f := remembering(t, bramble("from-policy", "split"))
	const suite = `suite: too soon
about: The baseline settles for less than what the filter remembers.
defaults: {speed: 4 m/s, steer: 8 deg, throttle: {room: 25 %}, gain: {shift: 12 %}, settle: 440 ms, observe: 600 ms}
cases:
  - case: held
    each: {turn: [left, right], speed: [2 m/s, 4 m/s, 8 m/s]}
    hold: {yaw_rate: 160 % of demand}
    expect:
      - {policy: oversteer}
`
	f.Suites = []language.Source{{Path: "soon.yaml", Data: []byte(suite)}}
	r, _ := play(t, load(t, f), suites.Options{})
	assert.Zero(t, r.Counts.Fail, troubles(r))
	said := 0
	for _, c := range r.Suites[0].Cases {
		for _, check := range c.Checks {
			if check.Verdict == record.Undecided {
				said++
				assert.Contains(t, check.Why, "let what is held settle for longer")
				assert.NotContains(t, check.Why, "may take it")
			}
		}
	}
	assert.NotZero(t, said)
}
