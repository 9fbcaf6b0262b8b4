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
var otherWords = []struct {
	lines string
	gap   string // what the checks do not know yet of it; "": nothing fails and nothing is open
}{
	{lines: "demand: {model: single_track, wheelbase: 330 mm, understeer_gradient: 0.0028 rad/(m/s2), within: 5 %}"},
	{lines: "demand: {model: single_track, wheelbase: 330 mm, understeer_gradient: 0.0028 rad/(m/s2), steer: linear, within: 5 %, speed_from: mean}"},
	{lines: "demand: {model: single_track, wheelbase: 330 mm, understeer_gradient: 0.0028 rad/(m/s2), steer: linear, within: 5 %, speed_from: front_mean}"},
	{lines: "demand: {model: single_track, wheelbase: 330 mm, understeer_gradient: 0.0028 rad/(m/s2), steer: linear, within: 5 %, speed_from: rear_mean}"},
	{lines: "demand: {model: single_track, wheelbase: 330 mm, understeer_gradient: 0.0028 rad/(m/s2), steer: linear, within: 5 %, speed_from: slowest}", gap: "a baseline on demand at the mean speed is shifted"},
	{lines: "demand: {model: single_track, wheelbase: 330 mm, understeer_gradient: 0.0028 rad/(m/s2), steer: linear, within: 5 %, speed_from: second_slowest}", gap: "a baseline on demand at the mean speed is shifted"},
	{lines: "demand: {model: single_track, wheelbase: 330 mm, understeer_gradient: 0.0028 rad/(m/s2), steer: linear, within: 5 %, speed_from: second_fastest}", gap: "a baseline on demand at the mean speed is shifted"},
	{lines: "demand: {model: single_track, wheelbase: 330 mm, understeer_gradient: 0.0028 rad/(m/s2), steer: linear, within: 5 %, speed_from: fastest}", gap: "a baseline on demand at the mean speed is shifted"},
	{lines: "demand: {model: single_track, wheelbase: 330 mm, understeer_gradient: 0.0028 rad/(m/s2), steer: linear, within: 5 %, yaw_limit: 150 deg/s}"},
	{lines: "demand: {model: single_track, wheelbase: 330 mm, understeer_gradient: 0.0028 rad/(m/s2), steer: linear, within: 5 %, lateral_limit: 8 m/s2}"},
	{lines: "demand: {model: single_track, wheelbase: 330 mm, understeer_gradient: 0.0028 rad/(m/s2), steer: linear, within: 5 %, steer_rate: 30 ms}"},
	{lines: "turn_from: yaw_rate"},
	{lines: "turn_from: demand"},
	{lines: "opposite_lock: no_shift"},
	{lines: "opposite_lock: understeer"},
	{lines: "opposite_lock: share\n  opposite_lock_share: 50 %"},
	{lines: "understeer: {raise: [outside_front, outside_rear], lower: [inside_front, inside_rear], front: 40 %, rear: 80 %}\n  oversteer: {raise: [inside_front, inside_rear], lower: [outside_front, outside_rear], front: 60 %, rear: 100 %}"},
	{lines: "understeer: {raise: [outside_front, outside_rear], lower: [inside_front, inside_rear], shares: vary}\n  oversteer: {raise: [inside_front, inside_rear], lower: [outside_front, outside_rear], shares: vary}"},
	{lines: "shift_at: {error: 60 deg/s, gain: 50 %, is: 8 %, within: 10 %, grows: saturating, most: 16 %}"},
	{lines: "shift_at: {error: 60 deg/s, gain: 50 %, is: 8 %, within: 10 %, grows: integrating, most: 12 %}\n  dead_band: 5 deg/s"},
	{lines: "shift_at: {error: 60 deg/s, gain: 50 %, is: 30 %, within: 10 %}", gap: "a motor that is lowered to its end is taken as not driven before a loss"},
	{lines: "dead_band: 5 deg/s"},
	{lines: "straight: {no_shift_below: 1.5 deg, full_from: 3 deg}"},
	{lines: "straight: {demand_below: 5 deg/s, demand_full_from: 15 deg/s}"},
	{lines: "gain_steps: [0 %, 50 %, 100 %]"},
	{lines: "gain_steps: [0 %, 100 %]"},
	{lines: "cap: {of: 92 %, steer_above: 2 deg, cut: before_shift}"},
	{lines: "cap: {of: 92 %, steer_above: 2 deg, cut: after_shift}"},
	{lines: "sum_cap: 300 %"},
	{lines: "floor: 5 %"},
	{lines: "at_the_limit: move_partner"},
	{lines: "at_the_limit: partner_only"},
	{lines: "at_the_limit: scale"},
	{lines: "at_the_cap: scale"},
	{lines: "at_the_floor: partner_only"},
	{lines: "traction_control: 20 %", gap: "wheels near the threshold are on one side of it"},
	{lines: "standstill: {no_shift_below: 0.5 m/s, full_from: 1 m/s}"},
	{lines: "reverse: as_forward"},
	{lines: "reverse: mirrored"},
	{lines: "smoothing: {filter: 15 ms}\n  response: {at_most: 27 ms, of: 95 %}", gap: "what smoothing does at a limit is left open"},
	{lines: "smoothing: {full_range_in: 300 ms}\n  response: {at_most: 27 ms, of: 95 %}", gap: "what smoothing does at a limit is left open"},
	{lines: "throttle_curve: none"},
	{lines: "throttle_curve: calibrated"},
	{lines: "throttle_curve: any"},
	{lines: "longest_gap: 20 ms"},
	{lines: "corrupt_frames: 0.1 %"},
	{lines: "throttle_lost: {no_shift_within: 150 ms}"},
	{lines: "throttle_lost: {ignored: yes}"},
	{lines: "steer_lost: {idle_within: 150 ms}"},
	{lines: "steer_lost: {ignored: yes}"},
	{lines: "gain_lost: {held: yes}"},
	{lines: "gain_lost: {no_shift_within: 150 ms}"},
	{lines: "gain_lost: {idle_within: 150 ms}"},
	{lines: "gain_lost: {value: 100 %, within: 150 ms}"},
	{lines: "receiver_lost: {idle_within: 150 ms}"},
	{lines: "yaw_lost: {idle_within: 100 ms}"},
	{lines: "yaw_lost: {ignored: yes}"},
	{lines: "yaw_frozen: {idle_within: 100 ms}"},
	{lines: "yaw_frozen: {ignored: yes}"},
	{lines: "sequence_frozen: {no_shift_within: 100 ms}"},
	{lines: "sequence_frozen: {idle_within: 100 ms}"},
	{lines: "sequence_frozen: {ignored: yes}"},
	{lines: "encoder_lost: {idle_within: 100 ms}"},
	{lines: "encoder_lost: {ignored: yes}"},
	{lines: "yaw_lost: {no_shift_within: 100 ms, recovers: power_cycle}"},
	{lines: "steer_lost: {no_shift_within: 150 ms, recovers: throttle_at_idle}"},
	{lines: "recovers: throttle_at_idle"},
	{lines: "recovers: power_cycle"},
	{lines: "safe_state: silent"},
	{lines: "start: silent"},
	{lines: "start_at_rest: 1 s\n  start: silent", gap: "the first command is waited for too short"},
	{lines: "arms: throttle_at_idle"},
	{lines: "motors_equal_within: 2 %"},
	{lines: "drives_better: yes"},
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
	for i, word := range otherWords {
		if i%wordsApart == 0 {
			t.Run(strings.ReplaceAll(word.lines, "/", " per "), func(t *testing.T) { playOtherWord(t, c, word.lines, word.gap) })
		}
	}
	t.Log("\n" + c.String())
}

// playOtherWord plays the standard suites to the board of the demo car's policy with these lines.
func playOtherWord(t *testing.T, c *tally, lines, gap string) {
	f := bramble("from-policy")
	f.Car.Data = []byte(withLines(string(f.Car.Data), lines))
	s := load(t, f)
	b, err := s.OfPolicy()
	require.NoError(t, err)
	s.WithBoard("of the policy", b)
	r, _ := play(t, s, suites.Options{})
	c.note(lines, r)
	t.Logf("%d checks, %d failed, %d open, %d of %d keys asked", r.Counts.Pass+r.Counts.Fail+r.Counts.Undecided, r.Counts.Fail, r.Counts.Undecided, r.KeysAsked, r.KeysDeclared)
	switch well := r.Counts.Fail+r.Counts.Undecided == 0; {
	case gap == "":
		assert.True(t, well, strings.Join(troubles(r), "\n"))
	case well:
		t.Log("nothing is amiss any more: take its gap out")
	}
}
