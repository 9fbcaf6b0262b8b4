package suites_test

import (
	"fmt"
	"regexp"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"hilrig/suites"
	"hilrig/suites/file"
	"hilrig/suites/language"
)

// otherWords are policies that differ from the demo car's in one thing: a line that takes the
// place of that with its key, or is added.
var otherWords = []struct {
	lines string
	bench string // keys that take the place of the demo bench's
	gap   string // what the checks do not know yet of it; "": nothing fails and nothing is open
}{
	{lines: "demand: {model: single_track, wheelbase: 330 mm, understeer_gradient: 0.0028 rad/(m/s2), within: 5 %}"},
	{lines: "demand: {model: single_track, wheelbase: 330 mm, understeer_gradient: 0.0028 rad/(m/s2), steer: linear, within: 5 %, speed_from: mean}"},
	{lines: "demand: {model: single_track, wheelbase: 330 mm, understeer_gradient: 0.0028 rad/(m/s2), steer: linear, within: 5 %, speed_from: front_mean}"},
	{lines: "demand: {model: single_track, wheelbase: 330 mm, understeer_gradient: 0.0028 rad/(m/s2), steer: linear, within: 5 %, speed_from: rear_mean}"},
	{lines: "demand: {model: single_track, wheelbase: 330 mm, understeer_gradient: 0.0028 rad/(m/s2), steer: linear, within: 5 %, speed_from: slowest}"},
	{lines: "demand: {model: single_track, wheelbase: 330 mm, understeer_gradient: 0.0028 rad/(m/s2), steer: linear, within: 5 %, speed_from: second_slowest}"},
	{lines: "demand: {model: single_track, wheelbase: 330 mm, understeer_gradient: 0.0028 rad/(m/s2), steer: linear, within: 5 %, speed_from: second_fastest}"},
	{lines: "demand: {model: single_track, wheelbase: 330 mm, understeer_gradient: 0.0028 rad/(m/s2), steer: linear, within: 5 %, speed_from: fastest}"},
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
	{lines: "shift_at: {error: 60 deg/s, gain: 50 %, is: 30 %, within: 10 %}"},
	{lines: "shift_at: {error: 60 deg/s, gain: 50 %, is: 8 %, within: 10 %, derivative_time: 20 ms}"},
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
	{lines: "traction_control: 20 %"},
	{lines: "standstill: {no_shift_below: 0.5 m/s, full_from: 1 m/s}"},
	{lines: "reverse: as_forward"},
	{lines: "reverse: mirrored"},
	{lines: "smoothing: {filter: 15 ms}\n  response: {at_most: 27 ms, of: 95 %}"},
	{lines: "smoothing: {full_range_in: 300 ms}\n  response: {at_most: 27 ms, of: 95 %}"},
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
	{lines: "safe_state: idle_or_silent\n  start: idle_or_silent"},
	{lines: "start_waits_for: [steer, gain, yaw_rate]"},
	{lines: "start_at_rest: 1 s\n  start: silent"},
	{lines: "arms: throttle_at_idle"},
	{lines: "motors_equal_within: 2 %"},
	{lines: "drives_better: yes"},
	{lines: "smoothing: {filter: 10 ms, full_range_in: 200 ms}\n  response: {at_most: 27 ms, of: 95 %}"},
	{lines: "traction_control: 20 %\n  encoder_lost: {ignored: yes}"},
	{lines: "traction_control: 20 %\n  encoder_lost: {idle_within: 100 ms}"},
	{lines: "dead_shift: 2 %"},
	{lines: "demand: {model: single_track, wheelbase: 330 mm, understeer_gradient: 0.0028 rad/(m/s2), steer: linear, lateral_limit: none, yaw_limit: none, within: 5 %}"},
	{lines: "understeer: {raise: [outside_front, outside_rear], lower: [inside_front, inside_rear]}\n  oversteer: {raise: [inside_front, inside_rear], lower: [outside_front, outside_rear]}"},
	{lines: "straight: {no_shift_below: 1 deg, full_from: 2 deg, demand_below: 4 deg/s, demand_full_from: 12 deg/s}"},
	{lines: "loop_rate: {at_least: 300 Hz}"},
	{lines: "response: {at_most: 20 ms, of: 90 %}"},
	{lines: "spike: {at_most: 2 %}"},
	{lines: "outputs_together: 3 ms"},
	{lines: "resolution: 1 %"},
	{lines: "floor: 5 %\n  at_the_floor: move_partner"},
	{lines: "at_the_cap: partner_only\n  at_the_floor: scale"},
	{lines: "at_the_cap: move_partner\n  at_the_floor: cap"},
	{lines: "at_the_limit: scale\n  at_the_cap: cap"},
	{lines: "shift_at: {error: 60 deg/s, gain: 50 %, is: 8 %, within: 10 %, grows: proportional}"},
	{lines: "receiver_lost: {no_shift_within: 150 ms}\n  throttle_lost: {no_shift_within: 150 ms}"},
	{lines: "receiver_lost: {ignored: yes}\n  throttle_lost: {ignored: yes}\n  steer_lost: {ignored: yes}\n  gain_lost: {held: yes}"},
	{lines: "braking: no_shift", bench: bothWays},
	{lines: "floor: -50 %\n  braking: no_shift", bench: bothWays},
	{lines: "floor: -10 %"},
	{lines: "receiver_lost: {idle_within: 150 ms}\n  receiver_flag: {idle_within: 150 ms}", bench: receiverBus},
	{lines: "receiver_lost: {no_shift_within: 150 ms}\n  receiver_flag: {no_shift_within: 150 ms}", bench: receiverBus},
	{lines: "receiver_flag: {ignored: yes}", bench: receiverBus},
}

// bothWays are a throttle and motors that brake below neutral.
const bothWays = `receiver:
  steer: {rate: 100 Hz}
  throttle: {rate: 100 Hz, idle: 1500 us, full: 2000 us}
  gain: {rate: 100 Hz, idle: 1000 us, full: 2000 us}
motors: {kind: servo_pulse, idle: 1500 us, full: 2000 us, with_neutral: yes}
`

// receiverBus is a receiver whose channels come on a bus.
const receiverBus = `receiver:
  bus:
    port: receiver_bus
    rate: 100 Hz
    steer: {channel: 1, counts: [172, 1811], pulses: [988 us, 2012 us]}
    throttle: {channel: 3, idle: 172, full: 1811}
    gain: {channel: 6, idle: 172, full: 1811}
`

// ofKey matches a key that stands so far in, with all that stands under it.
func ofKey(indent, key string) *regexp.Regexp {
	return regexp.MustCompile(`(?m)^` + indent + key + `:.*\n(` + indent + `  .*\n)*`)
}

// withLines returns a car file whose policy has these lines in the place of those with their keys.
func withLines(car string, lines string) string {
	for line := range strings.SplitSeq(lines, "\n") {
		key, _, _ := strings.Cut(strings.TrimSpace(line), ":")
		car = ofKey("  ", key).ReplaceAllString(car, "")
	}
	return strings.TrimRight(car, "\n") + "\n  " + lines + "\n"
}

// withKeys returns a bench file that has these keys in the place of its own.
func withKeys(bench string, keys string) string {
	for _, key := range regexp.MustCompile(`(?m)^(\w+):`).FindAllStringSubmatch(keys, -1) {
		bench = ofKey("", key[1]).ReplaceAllString(bench, "")
	}
	return bench + keys
}

// TestTheOtherWordsAreAllThatAPolicyMayHave holds that each key and each word of a policy stands in the demo car or
// among the others.
func TestTheOtherWordsAreAllThatAPolicyMayHave(t *testing.T) {
	var all strings.Builder
	all.Write(bramble("").Car.Data)
	for _, w := range otherWords {
		all.WriteString("  " + w.lines + "\n")
	}
	var missing []string
	stands := func(key, word string) {
		if !regexp.MustCompile(`\b` + key + `:[^:]*\b` + word).MatchString(all.String()) {
			missing = append(missing, key+": "+word)
		}
	}
	var of func(t *language.Table)
	of = func(t *language.Table) {
		for i := range t.Keys {
			k := &t.Keys[i]
			stands(k.Name, "")
			for _, word := range k.Words {
				if k.Many != language.OneOrList { // a motor may be any
					stands(k.Name, word)
				}
			}
			if k.Table != nil {
				of(k.Table)
			}
		}
	}
	of(file.PolicyTable)
	assert.Empty(t, missing)
}

// TestThereIsABoardOfEachOtherWord makes them all, and plays none.
func TestThereIsABoardOfEachOtherWord(t *testing.T) {
	for _, w := range otherWords {
		s := otherWord(t, w.lines, w.bench, "life")
		b, err := s.OfPolicy()
		require.NoError(t, err, w.lines)
		_, err = s.MadeOf(b)
		assert.NoError(t, err, w.lines)
	}
}

// otherWord is the demo car with these lines of its policy, on the demo bench with these keys, for the standard
// suites of these names, all where there are none.
func otherWord(t *testing.T, lines, bench string, names ...string) *suites.Setup {
	t.Helper()
	f := bramble("from-policy", names...)
	f.Car.Data = []byte(withLines(string(f.Car.Data), lines))
	f.Bench.Data = []byte(withKeys(string(f.Bench.Data), bench))
	return load(t, f)
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
			t.Run(fmt.Sprintf("%d: %s", i, strings.ReplaceAll(word.lines, "/", " per ")), func(t *testing.T) { playOtherWord(t, c, word.lines, word.bench, word.gap) })
		}
	}
	t.Log("\n" + c.String())
}

// playOtherWord plays the standard suites to the board of another word.
func playOtherWord(t *testing.T, c *tally, lines, bench, gap string) {
	names := playedNames()
	if names == nil {
		names = wordSuites
	}
	s := otherWord(t, lines, bench, names...)
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
