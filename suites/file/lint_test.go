package file_test

import (
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"hilrig/suites/demo"
	"hilrig/suites/file"
	"hilrig/suites/language"
)

// linted reads cases for a bench and returns the warnings.
func linted(t *testing.T, bench *file.Bench, cases string) (language.Warnings, error) {
	t.Helper()
	car, demo := bramble(t)
	if bench == nil {
		bench = demo
	}
	data := "suite: s\ndefaults: {speed: 2 m/s, throttle: 40 %, gain: 50 %}\ncases:\n" + cases
	s, err := file.ParseSuite(language.Source{Path: "s.yaml", Data: []byte(data)}, car, bench)
	if err != nil {
		return nil, err
	}
	return file.Lint(s, car, bench), nil
}

func TestWarnings(t *testing.T) {
	tests := []struct {
		name, text string
		want       []string // what each warning begins with
	}{
		{"nothing odd", "  - {case: a, hold: {steer: 8 deg, yaw_rate: 70 % of demand}, expect: [{policy: understeer}]}\n", nil},
		// 4 m/s, 12 deg: demand 2.235 rad/s, so 8.94 m/s2; grip 0.6 x 9.80665 = 5.884 m/s2.
		{"beyond the grip", "  - case: a\n    hold: {speed: 4 m/s, steer: 12 deg, gain: 0 %}\n    expect: [{policy: zero_gain}]\n",
			[]string{"s.yaml:5:11: speed times yaw rate goes up to 8.941 m/s2, more than the grip of the car's tyres, 5.884 m/s2; "}},
		{"both turns are one warning", "  - case: a\n    each: {turn: [left, right]}\n    hold: {speed: 4 m/s, steer: 12 deg, gain: 0 %}\n    expect: [{policy: zero_gain}]\n",
			[]string{"s.yaml:6:11: speed times"}},
		{"beyond the grip for a moment", "  - {case: a, baseline: none, hold: {speed: 4 m/s, yaw_rate: {sine: 100 deg/s, at: 5 Hz}}, expect: [{motor: all, range: [0 %, 92 %]}]}\n",
			[]string{"s.yaml:4:37: speed times yaw rate goes up to 6.98"}},
		{"not both at once", "  - {case: a, baseline: none, hold: {speed: {step: [4 m/s, 1 m/s], after: 100 ms}, yaw_rate: {step: [0 deg/s, 100 deg/s], after: 100 ms}}, expect: [{motor: all, range: [0 %, 92 %]}]}\n", nil},
		{"closed loop", "  - {case: a, closed: yes, hold: {speed: 4 m/s, steer: 12 deg}, expect: [{measure: overshoot, at_most: 20 %}]}\n", nil},
		// Shift: 8 % at 60 deg/s and 50 %; here 0.3 x demand 46.9 deg/s at 50 %: 1.875 %.
		{"too near the floor", "  - {case: a, throttle: 1 %, hold: {steer: 8 deg, yaw_rate: 70 % of demand}, expect: [{policy: understeer}]}\n",
			[]string{"s.yaml:4:36: a shift of 1.87"}},
		{"too near the cap", "  - {case: a, throttle: 91 %, hold: {steer: 8 deg, yaw_rate: 70 % of demand}, expect: [{policy: understeer}]}\n",
			[]string{"s.yaml:4:37: a shift of 1.87"}},
		{"where limits are tested", "  - {case: a, throttle: 91 %, hold: {steer: 8 deg, yaw_rate: 70 % of demand}, expect: [{policy: understeer}, {policy: at_the_limit}]}\n", nil},
		{"few trials", "  - {case: a, hold: {steer: 8 deg, trials: {yaw_rate: [100 % of demand, 70 % of demand], count: 50}}, expect: [{policy: response}]}\n",
			[]string{"s.yaml:4:112: the response is judged over 50 trials; play at least 200"}},
		{"no trials", "  - {case: a, steps: [{step: a, trials: {steer: [0 deg, 1 deg]}, yaw_rate: 0 deg/s}, {step: b}], expect: [{policy: response, step: a}, {policy: response}]}\n",
			[]string{"s.yaml:4:136: the response is judged over trials, and its step has none; "}},
		{"a ramp cut off", "  - {case: a, baseline: none, hold: {throttle: {ramp: [0 %, 50 %], over: 2 s}}, expect: [{motor: all, range: [0 %, 92 %]}]}\n",
			[]string{"s.yaml:4:37: the shape of throttle takes 2 s, and the step is over after 700 ms"}},
		{"a spike that is clipped", "  - {case: a, hold: {yaw_rate: 50 deg/s, faults: [{wire: yaw_serial, is: spike, by: 1960 deg/s}]}, expect: [{policy: spike}]}\n",
			[]string{"s.yaml:4:21: a spike of 1960 deg/s on yaw_serial is clipped by its field; the field holds -2000 deg/s to 2000 deg/s"}},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			got, err := linted(t, nil, tt.text)
			require.NoError(t, err)
			require.Len(t, got, len(tt.want), "%s", got)
			for i, want := range tt.want {
				assert.Equal(t, language.Warning, got[i].Level)
				assert.True(t, strings.HasPrefix(got[i].Error(), want), got[i].Error())
				assert.NotEmpty(t, got[i].Excerpt)
			}
		})
	}
}

func TestARestartNeedsAWireForIt(t *testing.T) {
	restarted := "  - {case: a, power_up: yes, baseline: none, hold: {}, expect: [{policy: start}]}\n"
	got, err := linted(t, nil, restarted)
	require.NoError(t, err)
	assert.Empty(t, got)
	_, b := changed(t, "reset: line", "reset: none")
	got, err = linted(t, b, restarted)
	require.NoError(t, err)
	require.Len(t, got, 1)
	assert.ErrorContains(t, got[0], `s.yaml:4:5: case "a" restarts the board, and the bench says reset: none`)
}

func TestColumnsThatAreNotPlayedAreWarnings(t *testing.T) {
	car, bench := bramble(t)
	s, err := replaying(t, gravel, "")
	require.NoError(t, err)
	got := file.Lint(s, car, bench)
	require.Len(t, got, 1)
	assert.Equal(t, language.Warning, got[0].Level)
	assert.Equal(t, `mine/logs/gravel.csv:2:97: column "note" is not played; use time, speed, throttle, gain, steer, yaw_rate, wheel_speed.front_left, wheel_speed.front_right, wheel_speed.rear_left or wheel_speed.rear_right`, got[0].Error())
}

func TestWhatABenchCannotPlayIsAMistake(t *testing.T) {
	hold := "  - {case: a, hold: {yaw_rate: 60 deg/s}, expect: [{policy: oversteer}]}\n"
	tests := []struct {
		name     string
		from, to string // what is changed of the demo bench
		text     string
		want     string
	}{
		{"a field too narrow", "range: [-2000 deg/s, 2000 deg/s]", "range: [-50 deg/s, 50 deg/s]", hold,
			"s.yaml:4:21: yaw_rate 60 deg/s would be clipped by its field on yaw_serial; play what lies within -50 deg/s to 50 deg/s, or give the field a larger range"},
		{"an integer too small", "as: i16, order: big, scale: 0.0625 deg/s, noise: 0.15 deg/s, range: [-2000 deg/s, 2000 deg/s]", "as: i8, scale: 0.25 deg/s", hold,
			"s.yaml:4:21: yaw_rate 60 deg/s would be clipped by its field on yaw_serial; play what lies within -32 deg/s to 31.75 deg/s"},
		{"a sweep", "range: [-2000 deg/s, 2000 deg/s]", "range: [-50 deg/s, 50 deg/s]", "  - {case: a, hold: {sweep: {yaw_rate: [0 deg/s, 51 deg/s]}}, expect: [{policy: demand}]}\n",
			"s.yaml:4:21: yaw_rate 51 deg/s would be clipped"},
		// By hand: 5 m/s over 54 mm is 92.6 rad/s; times 400000 edges over 2 pi: 5.89e6.
		{"edges", "lines: 256", "lines: 100000", "  - {case: a, hold: {speed: 5 m/s, yaw_rate: 0 deg/s}, expect: [{policy: on_demand}]}\n",
			"s.yaml:4:21: wheel front_left at 5305 deg/s gives 5890000 edges a second, more than the bench can play; play a lower speed, or declare fewer lines than 100000 a turn"},
		{"a wheel of its own", "lines: 256", "lines: 100000", "  - {case: a, hold: {yaw_rate: 0 deg/s, wheels: {rear_left: {ramp: [0 rad/s, -80 rad/s], over: 1 s}}}, expect: [{policy: on_demand}]}\n",
			"s.yaml:4:21: wheel rear_left at 4584 deg/s gives 5090000 edges a second"},
		// 92.6 rad/s over 40 ms is 3.70 rad, more than half a turn.
		{"half a turn a pulse", "  kind: quadrature\n  lines: 256", "  kind: duty\n  period: 40 ms\n  least: 5 %\n  most: 95 %\n  steps: 16384", "  - {case: a, hold: {speed: 5 m/s, yaw_rate: 0 deg/s}, expect: [{policy: on_demand}]}\n",
			"s.yaml:4:21: wheel front_left at 5305 deg/s turns by 212.2 deg from pulse to pulse of its sensor"},
		{"a tacho reversed", "  kind: quadrature\n  lines: 256", "  kind: tacho\n  pulses: 12", "  - {case: a, hold: {faults: [{wire: rear_left, is: reversed}]}, expect: [{policy: encoder_lost}]}\n",
			"s.yaml:4:38: wheel rear_left has a tacho, which does not tell the direction"},
		{"no checksum", "\n          - {check: crc8, poly: 0x07, init: 0, from: 2}", "", "  - {case: a, hold: {faults: [{wire: yaw_serial, is: wrong_checksum}]}, expect: [{policy: bad_checksum}]}\n",
			"s.yaml:4:38: the frames on yaw_serial have no checksum that could be wrong"},
		{"a throttle clipped", "throttle: {rate: 100 Hz, idle: 1000 us, full: 2000 us}", "throttle: {rate: 100 Hz, idle: 1000 us, full: 2000 us, most: 2000 us, least: 1000 us}",
			"  - {case: a, throttle: {ramp: [0 %, 100 %], over: 1 s}, hold: {faults: [{wire: yaw_serial, is: lost}]}, expect: [{policy: yaw_lost}]}\n", ""},
		{"a response no pulse can keep", "kind: servo_pulse\n  idle: 1000 us\n  full: 2000 us", "kind: servo_pulse\n  rate: 50 Hz\n  idle: 1000 us\n  full: 2000 us",
			"  - {case: a, hold: {steer: 8 deg, trials: {yaw_rate: [100 % of demand, 70 % of demand]}}, expect: [{policy: response}]}\n",
			`demo/bramble.yaml:65:3: the response cannot be at most 12 ms on bench "bramble bench": 95 % of them take up to 20 ms`},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			require.Contains(t, string(demo.BenchYAML), tt.from)
			_, b := changed(t, tt.from, tt.to)
			_, err := linted(t, b, tt.text)
			if tt.want == "" {
				assert.NoError(t, err)
				return
			}
			problems, ok := err.(language.Problems)
			require.True(t, ok, "%v", err)
			require.Len(t, problems, 1, "%v", err)
			assert.True(t, strings.HasPrefix(problems[0].Error(), tt.want), problems[0].Error())
			assert.NotEmpty(t, problems[0].Excerpt)
			_, err = linted(t, nil, tt.text)
			assert.NoError(t, err, "the demo bench plays it")
		})
	}
}
