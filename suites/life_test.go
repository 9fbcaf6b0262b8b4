package suites_test

import (
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"hilrig/rig/signal"
	"hilrig/suites"
	"hilrig/suites/language"
	"hilrig/suites/record"
	"hilrig/suites/standard"
)

// lively is what a run of a suite of the owner's is, by the command line: signs of life first.
func lively(t *testing.T, board, policy, suite string) *suites.Setup {
	f := bramble("")
	f.Read = nil
	path, data, ok := standard.Source(standard.Life)
	require.True(t, ok)
	f.Board = board
	f.Suites = []language.Source{{Path: path, Data: data}, {Path: "own.yaml", Data: []byte(suite)}}
	if policy != "" {
		f.Car.Data = []byte(string(shortCar) + policy)
	}
	return load(t, f)
}

// shortCar is a car without a policy.
const shortCar = `
car: short
mass: 3.9 kg
wheelbase: 330 mm
track: 300 mm
wheel_radius: 54 mm
steering:
  - {pulse: 1000 us, left: -30 deg, right: -30 deg}
  - {pulse: 2000 us, left: 30 deg, right: 30 deg}
`

// nothingAsked is a suite that a dead board passes.
const nothingAsked = `
suite: little
about: Asks for next to nothing.
defaults: {speed: 0 m/s, steer: 0 deg, throttle: 0 %, gain: 0 %, yaw_rate: 0 deg/s}
cases:
  - case: idle
    baseline: none
    hold: {}
    expect:
      - {motor: all, range: [-100 %, 100 %]}
`

// A board that does nothing is never GO, whatever the policy and whatever is played; one that
// passes the throttle on, never where a branch is declared.
func TestABoardThatDoesNothingIsNeverGo(t *testing.T) {
	const branch = "policy:\n  understeer: {raise: outside_rear}\n"
	for _, row := range []struct {
		board, policy string
		want          string
	}{
		{"built-in", branch, record.Go},
		{"built-in", "policy:\n  oversteer: {raise: outside_front}\n", record.Go},
		{"built-in", "policy: {}\n", record.Go},
		{"null:equal_torque", "policy: {}\n", record.Go},
		{"null:equal_torque", branch, record.NoGo},
		{"null:equal_torque", "policy:\n  oversteer: {raise: outside_front}\n", record.NoGo},
		{"null:constant_idle", branch, record.NoGo},
		{"null:constant_idle", "policy: {}\n", record.NoGo},
		{"null:silent", "policy: {start: silent}\n", record.NoGo},
		{"null:random_commands", "policy: {}\n", record.NoGo},
		{"null:random_commands", branch, record.NoGo},
	} {
		for _, only := range []string{"", "idle"} {
			r, _ := play(t, lively(t, row.board, row.policy, nothingAsked), suites.Options{Only: only})
			assert.Equal(t, row.want, r.Outcome, "%s under %q, only %q", row.board, row.policy, only)
		}
	}
}

// Where something keeps the signs of life from being played, nothing is shown.
func TestSignsOfLifeThatCannotBePlayedShowNothing(t *testing.T) {
	s := lively(t, "", "policy:\n  understeer: {raise: outside_rear}\n", nothingAsked)
	s.Suites[0].Cases[1].Missing = "no wire for it"
	r, _ := play(t, s, suites.Options{})
	assert.Equal(t, record.NotShown, r.Outcome)
	assert.Contains(t, r.Suites[0].Cases[1].Why, "no wire for it")

	assert.Len(t, lively(t, "", "policy: {}\n", nothingAsked).Suites[0].Cases, 1, "no branch is declared, so that none is asked for")
}

func TestTheOutcomeSaysHowMuchWasAsked(t *testing.T) {
	r, _ := play(t, lively(t, "", "policy:\n  understeer: {raise: outside_rear}\n  cap: {of: 92 %}\n", nothingAsked), suites.Options{})
	assert.Equal(t, 2, r.KeysDeclared)
	assert.Equal(t, 0, r.KeysAsked, "a sign of life holds the board to no key of the policy")
	whole, _ := play(t, load(t, bramble("", "split")), suites.Options{})
	assert.Less(t, whole.KeysAsked, whole.KeysDeclared)
	assert.Greater(t, whole.KeysAsked, 8)
}

// What the commands go through on their way out, a slew limit or a filter, may take longer than a step of the signs of life is
// written: each then settles until the step before is out of them. A board that passes on none of a little throttle still fails.
func TestSignsOfLifeOutlastASlowSlewLimit(t *testing.T) {
	const response = "response: {at_most: 12 ms"
	for _, row := range []struct{ curve, smoothing, response string }{
		{"none", "full_range_in: 1 s", "response: {at_most: 100 ms"},
		{"none", "full_range_in: 2 s", response},
		{"calibrated", "full_range_in: 4 s", response},
		{"none", "filter: 150 ms", response},
		{"calibrated", "filter: 200 ms", response},
	} {
		t.Run(row.curve+", "+row.smoothing, func(t *testing.T) {
			f := bramble("from-policy", standard.Life, "split")
			f.Car.Data = edited(t, f.Car.Data, "throttle_curve: none", "throttle_curve: "+row.curve+"\n  smoothing: {"+row.smoothing+"}", response, row.response)
			s := load(t, f)
			r, _ := play(t, s, suites.Options{Only: "no shift without gain"})
			assert.Empty(t, troubles(r))
			assert.NotZero(t, r.Counts.Pass)

			settings, err := s.OfPolicy()
			require.NoError(t, err)
			settings.ThrottleIdle = settings.ThrottleFull - 100*signal.Microsecond // nothing below nine tenths
			s.WithBoard("deaf to little throttle", settings)
			r, _ = play(t, s, suites.Options{Only: "no shift without gain"})
			assert.Contains(t, strings.Join(troubles(r), "\n"), "fail: signs of life, the throttle moves each motor (): answers throttle: front_left rises")
		})
	}
}
