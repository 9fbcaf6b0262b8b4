package suites_test

import (
	"math/rand/v2"
	"regexp"
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"hilrig/rig/benchtest/drawn"
	"hilrig/rig/board"
	"hilrig/suites"
	"hilrig/suites/demo"
	"hilrig/suites/language"
	"hilrig/suites/record"
)

// declaredPolicies are policies of healthy boards, as a car file has them, each with its board.
var declaredPolicies = []struct {
	name, policy string
	board        func(t *testing.T, whole *suites.Setup) board.Settings // given the setup with the whole policy
}{
	{"demo", policyOf(string(demo.CarYAML)), func(*testing.T, *suites.Setup) board.Settings { return board.Bramble() }},
	{"another school", anotherSchool, func(t *testing.T, whole *suites.Setup) board.Settings {
		s, err := whole.OfPolicy()
		require.NoError(t, err)
		return s
	}},
}

// anotherSchool is a policy with many of the keys that the demo's leaves out.
const anotherSchool = `policy:
  demand: {model: single_track, wheelbase: 330 mm, understeer_gradient: 0.0028 rad/(m/s2), steer: linear, yaw_limit: 300 deg/s, speed_from: rear_mean, within: 5 %}
  turn_from: yaw_rate
  opposite_lock: share
  opposite_lock_share: 50 %
  understeer: {raise: [outside_front, outside_rear], lower: [inside_front, inside_rear], front: 70 %}
  oversteer: {raise: [inside_front, inside_rear], lower: [outside_front, outside_rear], front: 70 %}
  shift_at: {error: 60 deg/s, gain: 50 %, is: 8 %, within: 10 %}
  dead_shift: 1 %
  straight: {no_shift_below: 1 deg, full_from: 2 deg}
  gain_steps: [0 %, 50 %, 100 %]
  cap: {of: 90 %, steer_above: 2 deg, cut: after_shift}
  floor: 2 %
  at_the_limit: cap
  at_the_cap: partner_only
  at_the_floor: move_partner
  standstill: {no_shift_below: 0.5 m/s, full_from: 1 m/s}
  reverse: as_forward
  throttle_curve: none
  loop_rate: {at_least: 180 Hz}
  response: {at_most: 14 ms}
  throttle_lost: {idle_within: 150 ms}
  steer_lost: {no_shift_within: 150 ms, recovers: by_itself}
  yaw_lost: {no_shift_within: 100 ms, recovers: by_itself}
  yaw_frozen: {no_shift_within: 120 ms}
  encoder_lost: {no_shift_within: 100 ms}
  bad_checksum: ignored
  recovers: by_itself
  safe_state: idle
  start: idle
  motors_equal_within: 1 %
`

// policyOf returns the policy of a car file, from its key to the end.
func policyOf(car string) string { return car[strings.Index(car, "\npolicy:\n")+1:] }

// topKey is a key of a policy with what stands under it.
var topKey = regexp.MustCompile(`(?m)^  ([a-z_]+):.*\n(?:    .*\n)*`)

// goesWith are keys that have no meaning without another, or that without it say something else:
// at_the_limit holds at the cap and at the floor where these have no words of their own.
var goesWith = map[string][]string{"cap": {"at_the_cap"}, "floor": {"at_the_floor"}, "opposite_lock": {"opposite_lock_share"},
	"at_the_cap": {"at_the_limit"}, "at_the_floor": {"at_the_limit"}}

// keysOf lists the keys of a policy that can be left out with nothing said.
func keysOf(policy string) (keys []string) {
	for _, m := range topKey.FindAllStringSubmatch(policy, -1) {
		if m[1] != "opposite_lock_share" { // it is half of opposite_lock
			keys = append(keys, m[1])
		}
	}
	return keys
}

// leavingOut returns a policy without some of its keys and without what has no meaning then.
func leavingOut(policy string, keys ...string) string {
	for _, k := range keys {
		keys = append(keys, goesWith[k]...)
	}
	return topKey.ReplaceAllStringFunc(policy, func(text string) string {
		if slices.Contains(keys, topKey.FindStringSubmatch(text)[1]) {
			return ""
		}
		return text
	})
}

func TestLeavingOutTakesWholeKeys(t *testing.T) {
	policy := policyOf(string(demo.CarYAML))
	assert.Len(t, keysOf(policy), 38)
	without := leavingOut(policy, "demand", "resolution")
	assert.True(t, strings.HasPrefix(without, "policy:\n  turn_from:"))
	assert.Len(t, keysOf(without), 36)
	assert.Equal(t, policy, leavingOut(policy))
}

// TestWhatAPolicyLeavesOutIsNotAsked plays the standard suites to healthy boards that keep a
// whole policy, of which the car file leaves keys out, one and two at a time: no check fails and
// none is left undecided for it. Which keys are drawn is printed; with the tag full all are, of each policy.
func TestWhatAPolicyLeavesOutIsNotAsked(t *testing.T) {
	if testing.Short() {
		t.Skip("plays many minutes of driving")
	}
	for i, p := range declaredPolicies {
		if !drawn.Row(i, 2) {
			continue
		}
		t.Run(p.name, func(t *testing.T) {
			for _, keys := range drawnKeys(keysOf(p.policy)) {
				if p.name == "demo" && keys == nil {
					continue // TestStandardSuitesOnBramble
				}
				t.Run("without "+strings.Join(keys, " and "), func(t *testing.T) {
					s := load(t, withPolicy(leavingOut(p.policy, keys...)))
					s.WithBoard(p.name, p.board(t, load(t, withPolicy(p.policy))))
					r, _ := play(t, s, suites.Options{})
					assert.Empty(t, strings.Join(troubles(r), "\n"))
					assert.Equal(t, record.Go, r.Outcome)
				})
			}
		})
	}
}

// withPolicy returns the demo's files and the standard suites, the car with another policy.
func withPolicy(policy string) suites.Files {
	f := bramble("", untimed...)
	text := string(demo.CarYAML)
	f.Car = language.Source{Path: "car.yaml", Data: []byte(strings.Replace(text, policyOf(text), policy, 1))}
	return f
}

// drawnKeys returns what is left out of a policy with these keys: nothing, single keys, and
// pairs of them.
func drawnKeys(keys []string) [][]string {
	all := [][]string{nil}
	draw := rand.New(rand.NewPCG(1, 1)) // the same every time: a change is judged by the same draws
	order := draw.Perm(len(keys))
	if leftOutKeys > 0 {
		order = order[:leftOutKeys]
	}
	for _, i := range order {
		all = append(all, []string{keys[i]})
	}
	for range leftOutPairs {
		pair := draw.Perm(len(keys))
		all = append(all, []string{keys[pair[0]], keys[pair[1]]})
	}
	return all
}
