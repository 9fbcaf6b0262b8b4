package file_test

import (
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"hilrig/assertions"
	"hilrig/suites/demo"
	"hilrig/suites/file"
	"hilrig/suites/language"
)

// fast is a case far above the 4.3 m/s from which on a lateral limit of 5 m/s^2 lies below the demand that a policy without straight
// surely takes for a turn, that at 4.8 deg.
const fast = "turn: left, speed: {near: 10 m/s}, steer: {near: 4 deg}, "

// limitedLow has the demo car's demand limited so, and say nothing of going straight on.
var limitedLow = []string{"lateral_limit: none", "lateral_limit: 5 m/s2", "  straight: none\n", ""}

// A cap needs no certain demand, and is asked at the speed and the steer angle that are written.
func TestACapIsAskedPastTheLimitOfTheDemand(t *testing.T) {
	const body = "turn: left, speed: {near: 20 m/s}, steer: {near: 14 deg}, throttle: 100 %, gain: {shift: 8 %}, hold: {yaw_rate: 60 % of demand}, expect: "
	c, car, bench := triedOn(t, body+"[{policy: cap}]", limitedLow...)
	s := &c.Steps[len(c.Steps)-1]
	assert.InDelta(t, 20, s.Values.Speed, 1e-9)
	assert.InDelta(t, 14*deg, s.Values.Steer, 1e-9)
	assert.True(t, asks(c, car, bench))
	demanding := tried(t, body+"[{policy: cap}, {policy: no_wrap}]", limitedLow...)
	assert.NotEmpty(t, demanding.NoPoint, "what asks for a certain demand is short of its limit")
	narrow, err := readOn(t, "[-2000 deg/s, 2000 deg/s]", "[-100 deg/s, 100 deg/s]", "turn: left, speed: {near: 4 m/s}, steer: {near: 14 deg}, throttle: 100 %, gain: 50 %, hold: {yaw_rate: 60 % of demand}, expect: [{policy: cap}]", limitedLow...)
	require.NoError(t, err)
	assert.Less(t, narrow.Cases[0].Steps[1].Demand, 0.46*100*deg, "and of the sensor's range all the same")
}

// Branches are asked with the demand at its limit, where short of it the speed would be lowered: at the nearest speed at which all is
// asked. A limit of 5 m/s^2 comes to what is surely taken for a turn, 25 deg/s and what is spared and off, at 9.1 m/s.
func TestBranchesAreAskedAtTheLimitOfTheDemand(t *testing.T) {
	const rest = "throttle: {room: 25 %}, gain: {shift: 8 %}, hold: {yaw_rate: 40 % of demand}, expect: "
	c, car, bench := triedOn(t, fast+rest+"[{policy: understeer}]", limitedLow...)
	v := &c.Steps[len(c.Steps)-1].Values
	assert.Less(t, v.Speed, 9.1)
	assert.Greater(t, v.Speed, 0.85*9.1*0.95)
	assert.InDelta(t, 5/v.Speed, c.Steps[1].Demand, 0.03*5/v.Speed)
	assert.Greater(t, v.Speed*v.Steer/(0.33+0.0028*v.Speed*v.Speed), 1.2*5/v.Speed, "surely at the limit")
	assert.True(t, asks(c, car, bench))

	free := tried(t, fast+rest+"[{policy: understeer}]", "  straight: none\n", "")
	assert.InDelta(t, 10, free.Steps[1].Values.Speed, 1e-9, "without a limit nothing is lowered")
	short := tried(t, fast+rest+"[{policy: understeer}]", "lateral_limit: none", "lateral_limit: 5 m/s2")
	assert.InDelta(t, 10, short.Steps[1].Values.Speed, 1e-9)
	assert.Less(t, short.Steps[1].Demand, 0.9*5/10, "with smaller steer angles it is short of the limit at the same speed")
	demanding := tried(t, fast+rest+"[{policy: understeer}, {policy: demand}]", limitedLow...)
	assert.Less(t, demanding.Steps[1].Values.Speed, 5.0)
}

// asks says whether something is asked by the only expectation of a case.
func asks(c *file.Case, car *file.Car, bench *file.Bench) bool {
	return slices.ContainsFunc(c.Planned(0, car, bench), func(p assertions.Planned) bool { return p.Asked })
}

// A share of the range that the bench declares is held, in the baseline too, at a speed at which the wheels, 150 mm beside the middle, are
// no more than a quarter slower for it, and at a gain that leaves the shift room.
func TestAYawRateOfTheSensorsRange(t *testing.T) {
	const body = "speed: {near: 8 m/s}, steer: {near: 8 deg}, throttle: {room: 25 %}, gain: {shift: 20 %}, baseline: {gain: 0 %}, hold: {yaw_rate: {of_range: 60 %}}, expect: [{policy: oversteer}]"
	for turn, side := range map[string]float64{"left": 1, "right": -1} {
		c, car, bench := triedOn(t, "turn: "+turn+", "+body, "lateral_limit: none", "lateral_limit: 5 m/s2")
		require.Empty(t, c.NoPoint)
		for _, s := range c.Steps {
			assert.InDelta(t, side*1200*deg, s.Values.YawRate, 1e-9, s.Name)
			assert.InDelta(t, 1200*deg*0.15/0.25, s.Values.Speed, 1e-9, s.Name)
		}
		assert.Zero(t, c.Steps[0].Values.Gain)
		assert.InDelta(t, 0.5*0.20/(0.08*(1200*deg-5/c.Steps[1].Values.Speed)/(60*deg)), c.Steps[1].Values.Gain, 0.001)
		assert.True(t, asks(c, car, bench))
	}
	for _, row := range []struct{ why, from, to string }{
		{"below 12.57 m/s a wheel goes far slower", "speed: {near: 8 m/s}", "speed: 8 m/s"},
		{"a wheel goes far slower", "of_range: 60 %", "of_range: 95 %"},
		{"the policy's demand comes near a yaw rate", "of_range: 60 %", "of_range: 1 %"},
		{"no throttle leaves so much room", "gain: {shift: 20 %}", "gain: 50 %"},
		{"firmware may take one below 5 % for none", "gain: {shift: 20 %}", "gain: {shift: 12 %}"},
		{"has a bound that may go with the gain", "gain: {shift: 20 %}", "gain: {shift: 21 %}"},
	} {
		lines := []string{"lateral_limit: none", "lateral_limit: 5 m/s2"}
		if row.to == "gain: {shift: 21 %}" {
			lines = append(lines, "is: 8 %, within: 10 %", "is: 8 %, within: 10 %, grows: saturating, most: 20 %")
		}
		if row.to == "of_range: 95 %" {
			lines = append(lines, "track: 300 mm", "track: 340 mm")
		}
		c := tried(t, "turn: left, "+strings.Replace(body, row.from, row.to, 1), lines...)
		assert.Contains(t, c.NoPoint, row.why)
		assert.False(t, c.Asked())
	}
}

// readOn reads a suite of one case for the demo car on the demo bench with a line exchanged.
func readOn(t *testing.T, from, to, body string, lines ...string) (*file.Suite, error) {
	t.Helper()
	require.Contains(t, string(demo.BenchYAML), from)
	bench, err := file.ParseBench(language.Source{Path: "bench.yaml", Data: []byte(strings.Replace(string(demo.BenchYAML), from, to, 1))})
	require.NoError(t, err)
	text := string(demo.CarYAML)
	for i := 0; i < len(lines); i += 2 {
		text = strings.Replace(text, lines[i], lines[i+1], 1)
	}
	car, err := file.ParseCar(language.Source{Path: "car.yaml", Data: []byte(text)})
	require.NoError(t, err)
	return file.ParseSuite(language.Source{Path: "s.yaml", Data: []byte("suite: s\nany_policy: yes\ncases:\n  - {case: a, " + body + "}\n")}, car, bench)
}

func TestWhatNoSpinIsAskedOf(t *testing.T) {
	const body = "turn: left, speed: {near: 8 m/s}, steer: {near: 8 deg}, throttle: 40 %, gain: 10 %, baseline: {gain: 0 %}, hold: {yaw_rate: {of_range: 60 %}}, expect: [{policy: oversteer}]"
	s, err := readOn(t, ", range: [-2000 deg/s, 2000 deg/s]", "", body)
	require.NoError(t, err)
	assert.Equal(t, "the bench declares no range of its yaw-rate sensor", s.Cases[0].NoPoint)
	s, err = readOn(t, "  kind: quadrature\n  lines: 256", "  kind: duty\n  period: 12 ms\n  least: 5 %\n  most: 95 %\n  steps: 4096", body)
	require.NoError(t, err, "what is not asked is no mistake")
	assert.Contains(t, s.Cases[0].NoPoint, "the sensors of the wheels do not tell")
	assert.Zero(t, s.Cases[0].Steps[1].Values.YawRate)
}

// A wheel's angle that comes every 12 ms tells no more than half a turn in that, up to 14 m/s; where a limited demand would be asked faster, it
// is asked slower.
func TestNoFasterThanTheWheelsAreTold(t *testing.T) {
	const duty = "  kind: duty\n  period: 12 ms\n  least: 5 %\n  most: 95 %\n  steps: 4096"
	for _, expect := range []string{"cap", "understeer"} {
		s, err := readOn(t, "  kind: quadrature\n  lines: 256", duty, "turn: left, speed: {near: 16 m/s}, steer: {near: 4 deg}, throttle: 50 %, gain: 100 %, hold: {yaw_rate: 60 % of demand}, expect: [{policy: "+expect+"}]", "lateral_limit: none", "lateral_limit: 9 m/s2", "  straight: none\n", "")
		require.NoError(t, err)
		assert.Less(t, s.Cases[0].Steps[1].Values.Speed, 14.2, expect)
	}
}

// Of two limits each acts at speeds of its own: of 9 m/s^2 and 120 deg/s the second below 4.3 m/s.
func TestASpeedAtWhichOneLimitOfTheDemandActs(t *testing.T) {
	const body = "turn: left, speed: {limited_by: KEY}, steer: {past_limit: 200 %}, throttle: {room: 25 %}, gain: {shift: 12 %}, hold: {yaw_rate: {clear: 112 % of demand}}, expect: [{policy: oversteer}]"
	of := func(key string, limits string) *file.Case {
		return tried(t, strings.Replace(body, "KEY", key, 1), "lateral_limit: none", limits)
	}
	const both = "lateral_limit: 9 m/s2\n    yaw_limit: 120 deg/s"
	free := func(s *file.Step) float64 {
		v := &s.Values
		return v.Speed * v.Steer / (0.33 + 0.0028*v.Speed*v.Speed)
	}
	for key, other := range map[string]func(speed float64) float64{
		"yaw_limit":     func(speed float64) float64 { return 9 / speed },
		"lateral_limit": func(float64) float64 { return 120 * deg },
	} {
		c := of(key, both)
		require.Empty(t, c.NoPoint)
		s := &c.Steps[1]
		assert.Greater(t, min(free(s), other(s.Values.Speed)), 1.2*s.Demand, key)
		assert.LessOrEqual(t, s.Values.Steer, 30*deg)
	}
	assert.InDelta(t, 120*deg, of("yaw_limit", both).Steps[1].Demand, 0.1)
	assert.Less(t, of("lateral_limit", both).Steps[1].Demand, 0.6*120*deg)
	assert.Contains(t, of("yaw_limit", "lateral_limit: 5 m/s2\n    yaw_limit: 300 deg/s").NoPoint, "at no speed does the policy's yaw_limit lie clearly below")
	assert.Contains(t, of("lateral_limit", "lateral_limit: 9 m/s2").NoPoint, "does not limit its demand both")
	_, err := readOn(t, "", "", "turn: left, speed: {limited_by: yaw_limit}, steer: 8 deg, throttle: 40 %, gain: 50 %, hold: {}, expect: [{policy: oversteer}]")
	assert.ErrorContains(t, err, "steer: {past_limit: 200 %}")
}

// A case of cars whose demand is limited is no part of the suite for another.
func TestACaseOfLimitedDemandsAlone(t *testing.T) {
	const body = "where_demand: WORD, turn: left, speed: 4 m/s, steer: 8 deg, throttle: 40 %, gain: 50 %, hold: {yaw_rate: 50 % of demand}, expect: [{policy: understeer}]"
	for _, row := range []struct {
		word, limits string
		cases        int
	}{
		{"limited", "lateral_limit: none", 0}, {"limited", "lateral_limit: 5 m/s2", 1}, {"limited", "yaw_limit: 100 deg/s", 1},
		{"limited_twice", "lateral_limit: 5 m/s2", 0}, {"limited_twice", "lateral_limit: 5 m/s2\n    yaw_limit: 100 deg/s", 1},
	} {
		s, err := readOn(t, "", "", strings.Replace(body, "WORD", row.word, 1), "lateral_limit: none", row.limits)
		require.NoError(t, err)
		assert.Len(t, s.Cases, row.cases, "%s, %s", row.word, row.limits)
	}
	_, err := readOn(t, "", "", strings.Replace(strings.Replace(body, "WORD", "limited", 1), "steer: 8 deg", "stear: 8 deg", 1), "lateral_limit: none", "lateral_limit: none")
	assert.ErrorContains(t, err, "stear", "its mistakes are told all the same")
}

// A case of cars whose shift has a bound is no part of the suite for another.
func TestACaseOfBoundedShiftsAlone(t *testing.T) {
	const body = "where_shift: bounded, turn: left, speed: 4 m/s, steer: 8 deg, throttle: 40 %, gain: 50 %, hold: {yaw_rate: 50 % of demand}, expect: [{policy: understeer}]"
	for _, row := range []struct {
		grows string
		cases int
	}{{"", 0}, {", grows: integrating", 0}, {", grows: integrating, most: 12 %", 1}, {", grows: saturating, most: 12 %", 1}} {
		s, err := readOn(t, "", "", body, "is: 8 %, within: 10 %", "is: 8 %, within: 10 %"+row.grows)
		require.NoError(t, err)
		assert.Len(t, s.Cases, row.cases, row.grows)
	}
}
