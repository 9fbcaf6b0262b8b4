package suites_test

import (
	"regexp"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"hilrig/suites"
)

// otherWords are policies that differ from the demo car's in one thing: a line that takes the
// place of that with its key, or is added.
var otherWords = []string{
	"demand: {model: single_track, wheelbase: 330 mm, understeer_gradient: 0.0028 rad/(m/s2), within: 5 %}",
	"demand: {model: single_track, wheelbase: 330 mm, understeer_gradient: 0.0028 rad/(m/s2), steer: linear, within: 5 %, speed_from: mean}",
	"demand: {model: single_track, wheelbase: 330 mm, understeer_gradient: 0.0028 rad/(m/s2), steer: linear, within: 5 %, speed_from: front_mean}",
	"demand: {model: single_track, wheelbase: 330 mm, understeer_gradient: 0.0028 rad/(m/s2), steer: linear, within: 5 %, speed_from: rear_mean}",
	"demand: {model: single_track, wheelbase: 330 mm, understeer_gradient: 0.0028 rad/(m/s2), steer: linear, within: 5 %, speed_from: slowest}",
	"demand: {model: single_track, wheelbase: 330 mm, understeer_gradient: 0.0028 rad/(m/s2), steer: linear, within: 5 %, speed_from: second_slowest}",
	"demand: {model: single_track, wheelbase: 330 mm, understeer_gradient: 0.0028 rad/(m/s2), steer: linear, within: 5 %, speed_from: second_fastest}",
	"demand: {model: single_track, wheelbase: 330 mm, understeer_gradient: 0.0028 rad/(m/s2), steer: linear, within: 5 %, speed_from: fastest}",
	"demand: {model: single_track, wheelbase: 330 mm, understeer_gradient: 0.0028 rad/(m/s2), steer: linear, within: 5 %, yaw_limit: 150 deg/s}",
	"demand: {model: single_track, wheelbase: 330 mm, understeer_gradient: 0.0028 rad/(m/s2), steer: linear, within: 5 %, lateral_limit: 8 m/s2}",
	"demand: {model: single_track, wheelbase: 330 mm, understeer_gradient: 0.0028 rad/(m/s2), steer: linear, within: 5 %, steer_rate: 30 ms}",
	"turn_from: yaw_rate",
	"turn_from: demand",
	"opposite_lock: no_shift",
	"opposite_lock: understeer",
	"opposite_lock: share\n  opposite_lock_share: 50 %",
	"understeer: {raise: [outside_front, outside_rear], lower: [inside_front, inside_rear], front: 40 %, rear: 80 %}\n  oversteer: {raise: [inside_front, inside_rear], lower: [outside_front, outside_rear], front: 60 %, rear: 100 %}",
	"understeer: {raise: [outside_front, outside_rear], lower: [inside_front, inside_rear], shares: vary}\n  oversteer: {raise: [inside_front, inside_rear], lower: [outside_front, outside_rear], shares: vary}",
	"shift_at: {error: 60 deg/s, gain: 50 %, is: 8 %, within: 10 %, grows: saturating, most: 16 %}",
	"shift_at: {error: 60 deg/s, gain: 50 %, is: 8 %, within: 10 %, grows: integrating, most: 12 %}\n  dead_band: 5 deg/s",
	"shift_at: {error: 60 deg/s, gain: 50 %, is: 30 %, within: 10 %}",
	"dead_band: 5 deg/s",
	"straight: {no_shift_below: 1.5 deg, full_from: 3 deg}",
	"straight: {demand_below: 5 deg/s, demand_full_from: 15 deg/s}",
	"gain_steps: [0 %, 50 %, 100 %]",
	"gain_steps: [0 %, 100 %]",
	"cap: {of: 92 %, steer_above: 2 deg, cut: before_shift}",
	"cap: {of: 92 %, steer_above: 2 deg, cut: after_shift}",
	"sum_cap: 300 %",
	"floor: 5 %",
	"at_the_limit: move_partner",
	"at_the_limit: partner_only",
	"at_the_limit: scale",
	"at_the_cap: scale",
	"at_the_floor: partner_only",
	"traction_control: 20 %",
	"standstill: {no_shift_below: 0.5 m/s, full_from: 1 m/s}",
	"reverse: as_forward",
	"reverse: mirrored",
	"smoothing: {filter: 15 ms}\n  response: {at_most: 27 ms, of: 95 %}",
	"smoothing: {full_range_in: 300 ms}\n  response: {at_most: 27 ms, of: 95 %}",
	"throttle_curve: none",
	"throttle_curve: calibrated",
	"throttle_curve: any",
	"longest_gap: 20 ms",
	"corrupt_frames: 0.1 %",
	"throttle_lost: {no_shift_within: 150 ms}",
	"throttle_lost: {ignored: yes}",
	"steer_lost: {idle_within: 150 ms}",
	"steer_lost: {ignored: yes}",
	"gain_lost: {held: yes}",
	"gain_lost: {no_shift_within: 150 ms}",
	"gain_lost: {idle_within: 150 ms}",
	"gain_lost: {value: 100 %, within: 150 ms}",
	"receiver_lost: {idle_within: 150 ms}",
	"yaw_lost: {idle_within: 100 ms}",
	"yaw_lost: {ignored: yes}",
	"yaw_frozen: {idle_within: 100 ms}",
	"yaw_frozen: {ignored: yes}",
	"sequence_frozen: {no_shift_within: 100 ms}",
	"sequence_frozen: {idle_within: 100 ms}",
	"sequence_frozen: {ignored: yes}",
	"encoder_lost: {idle_within: 100 ms}",
	"encoder_lost: {ignored: yes}",
	"yaw_lost: {no_shift_within: 100 ms, recovers: power_cycle}",
	"steer_lost: {no_shift_within: 150 ms, recovers: throttle_at_idle}",
	"recovers: throttle_at_idle",
	"recovers: power_cycle",
	"safe_state: silent",
	"start: silent",
	"start_at_rest: 1 s\n  start: silent",
	"arms: throttle_at_idle",
	"motors_equal_within: 2 %",
	"drives_better: yes",
}

// ofKey matches a key of the policy with all that stands under it.
func ofKey(key string) *regexp.Regexp {
	return regexp.MustCompile(`(?m)^  ` + key + `:.*\n(    .*\n)*`)
}

// withLines returns a car file whose policy has these lines in the place of those with their keys.
func withLines(car string, lines string) string {
	for line := range strings.SplitSeq(lines, "\n") {
		key, _, _ := strings.Cut(strings.TrimSpace(line), ":")
		car = ofKey(key).ReplaceAllString(car, "")
	}
	return strings.TrimRight(car, "\n") + "\n  " + lines + "\n"
}

// TestBoardsThatKeepOneOtherWord plays the standard suites to boards whose law differs from the demo car's in
// one word or number.
func TestBoardsThatKeepOneOtherWord(t *testing.T) {
	if testing.Short() {
		t.Skip("plays many minutes of driving")
	}
	c := &tally{why: map[string][]string{}}
	for i, lines := range otherWords {
		if i%wordsApart != 0 {
			continue
		}
		f := bramble("from-policy")
		f.Car.Data = []byte(withLines(string(f.Car.Data), lines))
		s := load(t, f)
		b, err := s.OfPolicy()
		require.NoError(t, err, lines)
		s.WithBoard("of the policy", b)
		r, _ := play(t, s, suites.Options{})
		c.note(lines, r)
		t.Logf("%s: %d checks, %d failed, %d open", lines, r.Counts.Pass+r.Counts.Fail+r.Counts.Undecided, r.Counts.Fail, r.Counts.Undecided)
	}
	t.Log("\n" + c.String())
	assert.NotZero(t, c.checks)
}
