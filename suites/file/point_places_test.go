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

// played returns the only case of a suite for the demo car with a line of its file exchanged.
func played(t *testing.T, from, to, values string) *file.Case {
	t.Helper()
	text := string(demo.CarYAML)
	require.Contains(t, text, from)
	car, err := file.ParseCar(language.Source{Path: "car.yaml", Data: []byte(strings.Replace(text, from, to, 1))})
	require.NoError(t, err)
	bench, err := file.ParseBench(language.Source{Path: "bench.yaml", Data: demo.BenchYAML})
	require.NoError(t, err)
	s, err := file.ParseSuite(language.Source{Path: "s.yaml", Data: []byte("suite: s\nany_policy: yes\ndefaults: {speed: 4 m/s, steer: 8 deg, throttle: 40 %, gain: {shift: 12 %}}\ncases:\n  - {case: a, " + values + ", hold: {yaw_rate: 40 % of demand}, expect: [{policy: understeer}]}\n")}, car, bench)
	require.NoError(t, err)
	return &s.Cases[0]
}

// A shift of 12 % for 60 % of the demand is known to 10 % of itself, and firmware that is off by 5 % of the demand, as it may be, has
// one of 1 % in the baseline; a tenth is spared besides: (12 + 1) * 1.1 * 1.1 = 15.73 % to the cap of 92 % and to the floor, on the
// grid of throttles that are looked at.
func TestAThrottleNearAValueHasRoomForTheShift(t *testing.T) {
	for _, row := range []struct {
		name, from, to, near string
		throttle             float64
	}{
		{"with room", "", "", "65 %", 0.65},
		{"too near the cap", "", "", "90 %", 0.76},
		{"too near the floor", "", "", "0 %", 0.16},
		{"a lower cap", "cap: {of: 92 %", "cap: {of: 60 %", "65 %", 0.44},
		{"a shift that gathers", "is: 8 %, within: 10 %", "is: 8 %, within: 10 %, grows: integrating, most: 20 %", "90 %", 0.67},
	} {
		t.Run(row.name, func(t *testing.T) {
			c := played(t, row.from, row.to, "throttle: {near: "+row.near+"}")
			assert.InDelta(t, row.throttle, c.Steps[1].Values.Throttle, 0.0051)
			assert.True(t, c.Asked())
		})
	}
	c := played(t, "cap: {of: 92 %", "cap: {of: 22 %", "throttle: {near: 65 %}") // the steer angle is no point
	assert.False(t, c.Asked())
	assert.Contains(t, c.NoPoint, "no throttle leaves so much room between floor and cap")
}

func TestASpeedOfStandstillIsAShareOfIt(t *testing.T) {
	c := played(t, "{no_shift_below: 0.5 m/s}", "{no_shift_below: 2 m/s, full_from: 5 m/s}", "speed: {standstill: 60 %}, steer: {near: 8 deg}")
	assert.InDelta(t, 1.2, c.Steps[1].Values.Speed, 1e-12)
	assert.Empty(t, c.NoPoint)
	assert.Contains(t, c.Points, "speed 1.2 m/s")
	c = played(t, "  standstill: {no_shift_below: 0.5 m/s}\n", "", "speed: {standstill: 60 %}")
	assert.False(t, c.Asked())
	assert.Equal(t, "the policy has no standstill", c.NoPoint)
}

// The demo car's wheels go to 30 deg by their mean, and 5 % of that are kept away from.
func TestASteerNearAValueIsWithinTheLock(t *testing.T) {
	for _, row := range []struct {
		near  string
		steer float64
	}{{"27 deg", 27}, {"40 deg", 28.5}, {"-40 deg", -28.5}} {
		c := played(t, "", "", "speed: 3 m/s, steer: {near: "+row.near+"}")
		assert.InDelta(t, row.steer*deg, c.Steps[1].Values.Steer, 1e-9)
	}
}
