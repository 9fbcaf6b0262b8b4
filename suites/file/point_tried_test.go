package file_test

import (
	"math"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"hilrig/suites/demo"
	"hilrig/suites/file"
	"hilrig/suites/language"
)

// tried returns the only case of a suite for the demo car with lines of its file exchanged, each by the one after it.
func tried(t *testing.T, body string, lines ...string) *file.Case {
	t.Helper()
	c, _, _ := triedOn(t, body, lines...)
	return c
}

// triedOn returns that case with the car and the bench.
func triedOn(t *testing.T, body string, lines ...string) (*file.Case, *file.Car, *file.Bench) {
	t.Helper()
	text := string(demo.CarYAML)
	for i := 0; i < len(lines); i += 2 {
		require.Contains(t, text, lines[i])
		text = strings.Replace(text, lines[i], lines[i+1], 1)
	}
	car, err := file.ParseCar(language.Source{Path: "car.yaml", Data: []byte(text)})
	require.NoError(t, err)
	bench, err := file.ParseBench(language.Source{Path: "bench.yaml", Data: demo.BenchYAML})
	require.NoError(t, err)
	s, err := file.ParseSuite(language.Source{Path: "s.yaml", Data: []byte("suite: s\nany_policy: yes\ndefaults: {speed: {near: 4 m/s}, steer: {near: 8 deg}}\ncases:\n  - {case: a, " + body + "}\n")}, car, bench)
	require.NoError(t, err)
	return &s.Cases[0], car, bench
}

// Of a switch that knows 0 and 100 % alone the shift of 30 % at 60 deg/s and a gain of 50 % is 60 % there, and 1 deg/s of error
// 1 % of range: with 10 % of tolerance and a cap of 92 % an error of 41.8 deg/s has half of the range. At 4 m/s the demand is
// 4 d / (0.33 + 0.0028 * 16), 85.4 deg/s at 8 deg, of which opposite lock makes 1.4 times an error.
func TestASmallerSteerAngleLeavesRoomForTheShift(t *testing.T) {
	strong := []string{"is: 8 %", "is: 30 %", "gain_steps: none", "gain_steps: [0 %, 100 %]"}
	c := tried(t, "throttle: {room: 25 %}, gain: {shift: 12 %}, hold: {yaw_rate: -40 % of demand}, expect: [{policy: opposite_lock}]", strong...)
	require.Empty(t, c.NoPoint)
	assert.True(t, c.Asked())
	steer := c.Steps[1].Values.Steer / deg
	most := 41.8 * (0.33 + 0.0028*16) / 4 / 1.4 // of the steer angle
	assert.Less(t, steer, most)
	assert.Greater(t, steer, 0.8*0.8*most, "no smaller than a step beyond what leaves room")
	assert.InDelta(t, -0.4*c.Steps[1].Demand, c.Steps[1].Values.YawRate, 1e-12, "the yaw rate is a share of the smaller demand")
	assert.InDelta(t, 1, c.Steps[1].Values.Gain, 1e-12)

	c = tried(t, "steer: 8 deg, throttle: {room: 25 %}, gain: {shift: 12 %}, hold: {yaw_rate: -40 % of demand}, expect: [{policy: opposite_lock}]", strong...)
	assert.Contains(t, c.NoPoint, "no throttle leaves so much room", "a steer angle that is no point stays")
}

// Of 8 % at 60 deg/s and 50 % a shift of 60 % of the demand of 85.4 deg/s is 13.7 % at a gain of 100 %, and with its tolerance
// of 10 % and a tenth spared 16.5 %; between a floor of 10 % and a cap of 30 % there are 10 % either way, which a gain of
// 60 % leaves.
func TestAGainNearAValueLeavesRoomForTheShift(t *testing.T) {
	const body = "throttle: {near: 40 %}, gain: {near: 100 %}, hold: {yaw_rate: 40 % of demand}, expect: [{policy: understeer}]"
	assert.InDelta(t, 1, tried(t, body).Steps[1].Values.Gain, 1e-12, "as it is asked for")
	narrow := []string{"cap: {of: 92 %", "cap: {of: 30 %", "floor: 0 %", "floor: 10 %"}
	c := tried(t, body, narrow...)
	require.Empty(t, c.NoPoint)
	demand := 4 * 8 / (0.33 + 0.0028*16)
	assert.InDelta(t, 0.10/(1.1*1.1*0.16/60*0.6*demand), c.Steps[1].Values.Gain, 0.0101)
	assert.InDelta(t, 0.2, c.Steps[1].Values.Throttle, 0.0051)
	c = tried(t, body, append(narrow, "gain_steps: none", "gain_steps: [0 %, 50 %, 100 %]")...)
	assert.InDelta(t, 0.5, c.Steps[1].Values.Gain, 1e-12, "the greatest step of a switch")
	c = tried(t, strings.Replace(body, "throttle: {near: 40 %}", "throttle: 20 %", 1), narrow...)
	assert.InDelta(t, 1, c.Steps[1].Values.Gain, 1e-12, "a throttle that is no point says nothing of the room that is wanted")
}

// A shift that saturates follows nothing at its bound, so that a gain is looked for at which it just comes to that: 8 % at
// 60 deg/s and 50 %, and 60 % of 85.4 deg/s of error.
func TestAGainForAShiftTakesOneThatSaturatesToItsBound(t *testing.T) {
	c := tried(t, "throttle: {room: 25 %}, gain: {shift: 12 %}, hold: {yaw_rate: 40 % of demand}, expect: [{policy: understeer}]", "is: 8 %, within: 10 %", "is: 8 %, within: 10 %, grows: saturating, most: 9 %")
	assert.InDelta(t, 0.09/(0.16/60*0.6*4*8/(0.33+0.0028*16)), c.Steps[1].Values.Gain, 1e-9)
}

// A policy without understeer says nothing of a car that turns too little, and all that is wanted is a shift.
func TestAYawRateNearAValueIsWhereThePolicyAsks(t *testing.T) {
	const body = "throttle: {near: 40 %}, gain: {near: 100 %}, baseline: {gain: 0 %}, steps: [{step: before, yaw_rate: {near: 40 % of demand}}, {step: lost, yaw_rate: {near: 40 % of demand}, faults: [{wire: yaw_rate, is: lost}]}], expect: [{policy: yaw_lost, step: lost}]"
	for _, row := range []struct {
		name, from, to string
		share          float64
	}{
		{"as it is written", "", "", 0.4},
		{"without understeer", "  understeer: ", "  # understeer: ", 1.6},
		{"without oversteer", "  oversteer: ", "  # oversteer: ", 0.4},
	} {
		t.Run(row.name, func(t *testing.T) {
			c := tried(t, body, "yaw_lost: {no_shift_within: 100 ms}", "yaw_lost: {ignored: yes}", row.from, row.to)
			assert.True(t, c.Asked())
			for _, s := range c.Steps[1:] {
				assert.InDelta(t, row.share*s.Demand, s.Values.YawRate, 1e-12, s.Name)
			}
			assert.Contains(t, c.Points, "yaw rate ")
		})
	}
	c := tried(t, body, "  understeer: ", "  # understeer: ", "  oversteer: ", "  # oversteer: ")
	assert.InDelta(t, 0.4, c.Steps[1].Values.YawRate/c.Steps[1].Demand, 1e-12, "neither side asks for more")
}

// Below its standstill a car is steered no farther than traction control, at 15 %, surely leaves the motors alone: an outer wheel,
// half of 300 mm from the middle, is then faster than the inner by less.
func TestASpeedOfStandstillKeepsTractionControlAway(t *testing.T) {
	body := "speed: {standstill: 60 %}, steer: {near: 12 deg}, throttle: 30 %, gain: 100 %, hold: {yaw_rate: 160 % of demand}, expect: [{policy: standstill}]"
	c := tried(t, body, "standstill: {no_shift_below: 0.5 m/s}", "standstill: {no_shift_below: 1 m/s}", "  floor: 0 %\n", "  floor: 0 %\n  traction_control: 15 %\n")
	v := c.Steps[1].Values
	assert.InDelta(t, 0.6, v.Speed, 1e-12)
	apart := 0.15 * math.Abs(v.YawRate)
	assert.Less(t, (v.Speed+apart)/(v.Speed-apart), 1+0.15/2, "few edges tell how fast a slow wheel turns")
	assert.Greater(t, v.Steer, 0.5*deg)
	c = tried(t, body, "standstill: {no_shift_below: 0.5 m/s}", "standstill: {no_shift_below: 1 m/s}")
	assert.InDelta(t, 12*deg, c.Steps[1].Values.Steer, 1e-12, "without it as far as is asked for")
}

// Where the firmware may make other commands of the throttle half as much again is spared as the shift takes: of 12 % with its
// tolerance and 1 % in the baseline 1.5 * 14.3 = 21.5 %. Between a floor of 10 % and a cap of 50 % no throttle has that to either
// side; of 20 % that any has, one keeps what the steps down to the shift itself leave, 20 * 0.95 = 19 % or more.
func TestAThrottleKeepsWhatSpareThereIs(t *testing.T) {
	c := tried(t, "throttle: {near: 20 %}, gain: {shift: 12 %}, hold: {yaw_rate: 40 % of demand}, expect: [{policy: understeer}]",
		"cap: {of: 92 %", "cap: {of: 50 %", "floor: 0 %", "floor: 10 %", "throttle_curve: none", "throttle_curve: any")
	assert.Empty(t, c.NoPoint)
	assert.InDelta(t, 0.295, c.Steps[1].Values.Throttle, 0.0101)
}

// A branch whose shares vary may take one motor twice as far, and leaves that much less throttles to choose from; the other branch
// does not. With 12 % of shift, its tolerance of 10 %, 1 % in the baseline and a tenth to spare a throttle near the cap of 92 %
// has (12 * 1.1 + 2.2) * 1.1 = 16.9 % to it where the other branch varies, and (24 * 1.1 + 2.2) * 1.1 = 31.5 % where its own does.
func TestAThrottleHasRoomForTheSharesOfItsOwnBranch(t *testing.T) {
	const body = "throttle: {near: 90 %}, gain: {shift: 12 %}, hold: {yaw_rate: 40 % of demand}, expect: [{policy: understeer}]"
	for throttle, lines := range map[float64][]string{
		0.75: {"oversteer: {raise: outside_front, lower: outside_rear}", "oversteer: {raise: [inside_front, inside_rear], lower: [outside_front, outside_rear], shares: vary}"},
		0.60: {"understeer: {raise: outside_rear, lower: inside_front}", "understeer: {raise: [outside_front, outside_rear], lower: [inside_front, inside_rear], shares: vary}"},
	} {
		assert.InDelta(t, throttle, tried(t, body, lines...).Steps[1].Values.Throttle, 0.0051)
	}
}
