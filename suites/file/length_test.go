package file_test

import (
	"fmt"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"hilrig/rig/signal"
	"hilrig/rig/trace"
	"hilrig/suites/demo"
	"hilrig/suites/file"
	"hilrig/suites/language"
)

// Where the board asks for what the sensors say, no frame of theirs has a time of its own, and the receiver's are moved between trials.
func TestTheReceiverIsMovedWhereSensorsAreAsked(t *testing.T) {
	parse := func(old, with string) *file.Bench {
		text := strings.Replace(string(demo.BenchYAML), old, with, 1)
		b, err := file.ParseBench(language.Source{Path: demo.BenchPath, Data: []byte(text)})
		require.NoError(t, err)
		return b
	}
	own := parse("", "")
	assert.Equal(t, 5*signal.Millisecond, own.Grid()) // CALC: 200 Hz
	assert.False(t, own.OnRequest(trace.YawRate))
	asked := parse("- rate: 200 Hz\n        fields", "- reply_to: [0x52]\n        fields")
	assert.Equal(t, asked.SlowestWire(), asked.Grid())
	assert.NotZero(t, asked.Grid())
	assert.True(t, asked.OnRequest(trace.YawRate))
	assert.False(t, asked.OnRequest(trace.Throttle))
}

// A case that nobody could keep in memory is refused before anything is played.
func TestACaseThatIsTooLongIsRefused(t *testing.T) {
	steps := func(n int, observe string) string {
		var b strings.Builder
		b.WriteString("  - case: endless\n    baseline: none\n    settle: 0 ms\n    steps:\n")
		for i := range n {
			fmt.Fprintf(&b, "      - {step: s%d, observe: %s}\n", i, observe)
		}
		b.WriteString("    expect: [{motor: all, range: [0 %, 92 %]}]\n")
		return b.String()
	}
	for _, tt := range []struct{ name, text, want string }{
		{"sixty steps of ten minutes", steps(60, "10 min"),
			`s.yaml:4:5: case "endless" takes 600 min, and no case may take more than 120 min; shorten its steps, or split it into several cases`},
		{"twelve of ten minutes", steps(12, "10 min"), ""},
		{"another minute", strings.Replace(steps(13, "10 min"), "s12, observe: 10 min", "s12, observe: 1 min", 1),
			`s.yaml:4:5: case "endless" takes 121 min, and no`},
		{"trials", "  - {case: a, hold: {steer: 8 deg, trials: {yaw_rate: [100 % of demand, 70 % of demand], count: 20000, interval: 500 ms}}, expect: [{policy: understeer}]}\n",
			`s.yaml:4:5: case "a" takes 183.4 min, and no`},
		{"repeats", "  - {case: a, closed: yes, repeat: 100, hold: {observe: 90 s}, expect: [{measure: overshoot, at_most: 20 %}]}\n",
			`s.yaml:4:5: case "a" takes 301 min, 100 runs of 3.01 min, and no case may take more than 120 min; shorten its steps, repeat it less often, or split it into several cases`},
		{"comparisons", "  - {case: a, closed: yes, compare: yes, repeat: 10, hold: {observe: 5 min}, expect: [{measure: overshoot, at_most: 20 %}]}\n",
			`s.yaml:4:5: case "a" takes 300.3 min, 30 runs of 10.01 min`},
		{"many variants are one problem", "  - {case: a, each: {turn: [left, right]}, closed: yes, repeat: 100, hold: {observe: 2 min}, expect: [{measure: overshoot, at_most: 20 %}]}\n",
			`s.yaml:4:5: case "a" takes 401 min, 100 runs of 4.01 min`},
	} {
		t.Run(tt.name, func(t *testing.T) {
			_, err := linted(t, nil, tt.text)
			if tt.want == "" {
				assert.NoError(t, err)
				return
			}
			problems, ok := err.(language.Problems)
			require.True(t, ok, "%v", err)
			require.Len(t, problems, 1)
			assert.True(t, strings.HasPrefix(problems[0].Error(), tt.want), problems[0].Error())
			assert.NotEmpty(t, problems[0].Value)
		})
	}
}

// A drive log counts with its length.
func TestALongDriveLogCountsIntoItsCase(t *testing.T) {
	car, bench := bramble(t)
	var log strings.Builder
	log.WriteString("time [s],speed [m/s],steer [deg],yaw_rate [deg/s],throttle [%]\n")
	for i := range 30 {
		log.WriteString(fmt.Sprintf("%d,4,0,0,20\n", 60*i))
	}
	read := func(string) ([]byte, error) { return []byte(log.String()), nil }
	text := "suite: s\ncases:\n  - {case: a, replay: a.csv, closed: yes, compare: yes, repeat: 2, gain: 50 %, expect: [{measure: rms_yaw_error, at_most: 100 deg/s}]}\n"
	_, err := file.ParseSuiteWith(language.Source{Path: "s.yaml", Data: []byte(text)}, file.SuiteOptions{Car: car, Bench: bench, Read: read})
	assert.ErrorContains(t, err, `s.yaml:3:5: case "a" takes 174.1 min, 6 runs of 29.02 min, and no case may take more than 120 min`)
}
