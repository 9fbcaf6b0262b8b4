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

// Whether the car drives better is asked where the policy says so, and never of tyres that are
// only guessed; what else is measured of the drive stays asked.
func TestBetterIsAskedWhereThePolicySaysSo(t *testing.T) {
	const drive = `suite: drive
about: Drives.
defaults: {speed: 3 m/s, steer: 8 deg, throttle: 25 %, gain: 50 %}
cases:
  - case: a turn
    closed: yes
    compare: yes
    baseline: none
    hold: {}
    expect:
      - {measure: rms_yaw_error, better_than: off}
      - {measure: peak_body_slip, at_most: 90 deg}
`
	whole := string(demo.CarYAML)
	from := strings.Index(whole, "tyre:\n")
	guessed := whole[:from] + whole[strings.Index(whole[from:], "\n\n")+from:]
	silent := strings.Replace(whole, "  drives_better: yes\n", "", 1)
	require.NotEqual(t, whole, silent)
	for _, row := range []struct {
		name, car, suite, why string
	}{
		{"said", whole, drive + "any_policy: yes\n", ""},
		{"not said", silent, drive + "any_policy: yes\n", "the policy does not say drives_better: yes"},
		{"one of two steps", strings.Replace(whole, "gain_steps: none", "gain_steps: [0 %, 100 %]", 1), drive + "any_policy: yes\n", "by the policy's gain_steps there may be no gain in this drive; play it at one that is surely a step above 0 %"},
		{"the middle of three steps", strings.Replace(whole, "gain_steps: none", "gain_steps: [0 %, 50 %, 100 %]", 1), drive + "any_policy: yes\n", ""},
		{"not said, and the suite is the owner's", silent, drive, ""},
		{"guessed tyres", guessed, drive + "any_policy: yes\n", "the tyres are guessed, and whether the car drives better rests on them; declare tyre in the car file"},
		{"guessed tyres, and the suite is the owner's", guessed, drive, "the tyres are guessed, and whether the car drives better rests on them; declare tyre in the car file"},
	} {
		car, err := file.ParseCar(language.Source{Path: "car.yaml", Data: []byte(row.car)})
		require.NoError(t, err, row.name)
		bench, err := file.ParseBench(language.Source{Path: demo.BenchPath, Data: demo.BenchYAML})
		require.NoError(t, err)
		s, err := file.ParseSuiteWith(language.Source{Path: "drive.yaml", Data: []byte(row.suite)}, file.SuiteOptions{Car: car, Bench: bench})
		require.NoError(t, err, row.name)
		c := &s.Cases[0]
		assert.Equal(t, row.why, c.Expect[0].NotAsked, row.name)
		assert.Empty(t, c.Expect[1].NotAsked, row.name)
		assert.Equal(t, row.why == "", c.Compares(), row.name)
	}
}
