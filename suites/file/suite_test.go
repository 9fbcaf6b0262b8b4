package file_test

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"hilrig/assertions"
	"hilrig/assertions/law"
	"hilrig/plant"
	"hilrig/rig/interlock"
	"hilrig/rig/signal"
	"hilrig/suites/file"
	"hilrig/suites/language"
)

// suite reads cases for the demo car, and holds them against the schema.
func suite(t *testing.T, cases string) *file.Suite {
	t.Helper()
	car, bench := bramble(t)
	data := "suite: s\nabout: a b\ndefaults: {speed: 4 m/s, throttle: 40 %, gain: 50 %, settle: 200 ms}\ncases:\n" + cases
	s, err := file.ParseSuite(language.Source{Path: "s.yaml", Data: []byte(data)}, car, bench)
	require.NoError(t, err)
	c := newChecker(t, "suite")
	assert.Empty(t, c.check(value(t, []byte(data)), c.top, "suite"), "what the parser takes the schema has to take")
	return s
}

func TestEachIsExpandedInOrderLastFastest(t *testing.T) {
	s := suite(t, `
  - case: first
    each: {turn: [left, right], speed: [2 m/s,  14.4   km/h, 8 m/s]}
    hold: {steer: 8 deg, yaw_rate: 70 % of demand}
    expect: [{policy: understeer}]
  - case: second
    hold: {}
    expect: [{policy: on_demand}]
  - case: third
    each: {yaw_rate: [10 deg/s, 130 % of demand]}
    hold: {}
    expect: [{policy: oversteer}]
`)
	var got []string
	for _, c := range s.Cases {
		got = append(got, c.Name+": "+c.Variant)
	}
	assert.Equal(t, []string{
		"first: turn left, speed 2 m/s", "first: turn left, speed 14.4 km/h", "first: turn left, speed 8 m/s",
		"first: turn right, speed 2 m/s", "first: turn right, speed 14.4 km/h", "first: turn right, speed 8 m/s",
		"second: ",
		"third: yaw rate 10 deg/s", "third: yaw rate 130 % of demand",
	}, got)
	assert.Equal(t, 4.0, s.Cases[1].Steps[0].Values.Speed)
	assert.Equal(t, "a b", s.About)
}

// Values that change together are one axis, behind the lists of each.
func TestRowsOfTogetherChangeTogether(t *testing.T) {
	s := suite(t, `
  - case: a
    each: {turn: [left, right]}
    together:
      - {speed: 2 m/s, throttle: {near: 30 %}, steer: 8 deg}
      - {steer: {near: 4 deg}, speed: 6 m/s, throttle: 60 %}
    hold: {yaw_rate: 70 % of demand}
    expect: [{policy: understeer}]
`)
	var got []string
	for _, c := range s.Cases {
		got = append(got, c.Variant)
	}
	assert.Equal(t, []string{
		"turn left, speed 2 m/s, throttle near 30 %, steer 8 deg", "turn left, speed 6 m/s, throttle 60 %, steer near 4 deg",
		"turn right, speed 2 m/s, throttle near 30 %, steer 8 deg", "turn right, speed 6 m/s, throttle 60 %, steer near 4 deg",
	}, got)
	v := s.Cases[3].Steps[1].Values
	assert.Equal(t, 6.0, v.Speed)
	assert.Equal(t, 0.6, v.Throttle)
	assert.InEpsilon(t, -4*deg, v.Steer, 1e-12)
}

func TestHoldIsABaselineOnDemandAndThenTheHold(t *testing.T) {
	s := suite(t, `
  - case: a
    hold: {steer: 8 deg, yaw_rate: 70 % of demand, observe: 1 s}
    expect:
      - {policy: understeer}
      - motor: [outside_front, inside_rear]
        is: unchanged
`)
	require.Len(t, s.Cases, 1)
	c := s.Cases[0]
	require.Len(t, c.Steps, 2)
	base, hold := c.Steps[0], c.Steps[1]
	assert.Equal(t, "baseline", base.Name)
	assert.True(t, base.Baseline)
	assert.Equal(t, "hold", hold.Name)
	assert.False(t, hold.Baseline)
	// By hand: 4 m/s, 8 deg, L = 0.33 m, K = 0.0028: r = 4*8/(0.33 + 0.0028*16) deg/s.
	demand := 4 * 8 / (0.33 + 0.0028*16) * deg
	assert.InEpsilon(t, demand, base.Values.YawRate, 1e-12)
	assert.InEpsilon(t, demand, base.Demand, 1e-12)
	assert.InEpsilon(t, 0.7*demand, hold.Values.YawRate, 1e-12)
	assert.InEpsilon(t, demand, hold.Demand, 1e-12)
	for _, step := range c.Steps {
		assert.Equal(t, 200*signal.Millisecond, step.Settle)
		assert.Equal(t, signal.Second, step.Observe)
		assert.InEpsilon(t, 8*deg, step.Values.Steer, 1e-12)
		assert.Equal(t, 0.4, step.Values.Throttle)
		assert.Equal(t, 0.5, step.Values.Gain)
	}
	assert.Equal(t, assertions.PolicyBranch{Of: "understeer"}, c.Expect[0].Check)
	assert.Equal(t, assertions.Shifted{Motors: []law.Corner{"outside_front", "inside_rear"}, Is: assertions.Unchanged}, c.Expect[1].Check)
	assert.Equal(t, language.Place{File: "s.yaml", Line: 10, Column: 9}, c.Expect[1].Place)
	assert.Equal(t, 11, c.Expect[1].LastLine)
	assert.Equal(t, "  10 |       - motor: [outside_front, inside_rear]\n  11 |         is: unchanged", s.Source.Excerpt(10, 11))
}

func TestTurnRightIsTheMirrorImage(t *testing.T) {
	s := suite(t, `
  - case: a
    each: {turn: [left, right]}
    wheels: {front_left: 10 rad/s, rear_right: 5 rad/s}
    steps:
      - {step: one, steer: 8 deg, yaw_rate: 20 deg/s}
      - {step: two, steer: 8 deg, yaw_rate: -40 % of demand, turn: right}
      - {step: three, steer: 0 deg, yaw_rate: 0 deg/s}
      - {step: four, speed: 0 m/s, steer: 8 deg}
    expect: [{mirrored: [one, two], within: 1 %}]
`)
	require.Len(t, s.Cases, 2)
	left, right := s.Cases[0].Steps, s.Cases[1].Steps
	require.Len(t, left, 5)
	for i := range left {
		l, r := left[i], right[i]
		assert.Equal(t, -l.Values.Steer, r.Values.Steer)
		assert.Equal(t, -l.Values.YawRate, r.Values.YawRate)
		assert.Equal(t, -l.Demand, r.Demand)
		assert.Equal(t, l.Wheels[plant.FrontLeft], r.Wheels[plant.FrontRight])
		assert.Equal(t, l.Wheels[plant.FrontRight], r.Wheels[plant.FrontLeft])
		assert.Equal(t, l.Wheels[plant.RearLeft], r.Wheels[plant.RearRight])
		assert.Equal(t, l.Wheels[plant.RearRight], r.Wheels[plant.RearLeft])
		assert.Equal(t, l.Values.Speed, r.Values.Speed)
	}
	assert.Equal(t, 10.0, *left[1].Wheels[plant.FrontLeft])
	assert.InEpsilon(t, 8*deg, left[1].Values.Steer, 1e-12)
	assert.InEpsilon(t, -8*deg, left[2].Values.Steer, 1e-12)
	assert.Positive(t, left[2].Values.YawRate, "opposite lock in a right turn")
	for _, zero := range []float64{right[3].Values.Steer, right[3].Values.YawRate, right[3].Demand, right[4].Demand, right[4].Values.YawRate} {
		assert.Zero(t, zero)
		assert.False(t, math.Signbit(zero), "no negative zero")
	}
}

func TestBaselineFollowsTheFirstStepUnlessItSaysOtherwise(t *testing.T) {
	s := suite(t, `
  - case: as the first step
    yaw_rate: 70 % of demand
    steps: [{step: a, gain: 25 %, steer: 4 deg}, {step: b, gain: 75 %, steer: 8 deg}]
    expect: [{motor: all, step: b, times: 2, of: a, within: 10 %}]
  - case: with its own values
    baseline: {gain: 0 %, yaw_rate: 10 deg/s, observe: 2 s}
    hold: {steer: 4 deg, yaw_rate: 50 % of demand}
    expect: [{sum: kept}]
  - case: none
    baseline: none
    hold: {steer: 4 deg}
    expect: [{motor: all, range: [0 %, 92 %]}, {motor: all, equal_within: 1 %}]
`)
	base := s.Cases[0].Steps[0]
	assert.Equal(t, 0.25, base.Values.Gain)
	assert.InEpsilon(t, 4*deg, base.Values.Steer, 1e-12)
	assert.Equal(t, base.Demand, base.Values.YawRate)
	assert.Equal(t, assertions.Scaled{Motors: law.Corners[:4], Step: "b", Of: "a", Times: 2, Within: 0.1}, s.Cases[0].Expect[0].Check)

	base = s.Cases[1].Steps[0]
	assert.Equal(t, 0.0, base.Values.Gain)
	assert.InEpsilon(t, 10*deg, base.Values.YawRate, 1e-12)
	assert.Equal(t, 2*signal.Second, base.Observe)
	assert.Equal(t, 0.5, s.Cases[1].Steps[1].Values.Gain)
	assert.Equal(t, assertions.SumKept{}, s.Cases[1].Expect[0].Check)

	require.Len(t, s.Cases[2].Steps, 1)
	assert.False(t, s.Cases[2].Steps[0].Baseline)
	assert.Equal(t, s.Cases[2].Steps[0].Demand, s.Cases[2].Steps[0].Values.YawRate, "on demand where the file does not say")
	assert.Equal(t, assertions.InRange{Motors: law.Corners[:4], High: 0.92}, s.Cases[2].Expect[0].Check)
	assert.Equal(t, assertions.Equal{Motors: law.Corners[:4], Within: 0.01}, s.Cases[2].Expect[1].Check)
}

func TestPowerLevelIsCautiousUnlessTheCaseSays(t *testing.T) {
	s := suite(t, `
  - {case: much throttle, throttle: 21 %, hold: {}, expect: [{policy: on_demand}]}
  - {case: little throttle, throttle: 20 %, hold: {}, expect: [{policy: on_demand}]}
  - {case: a limit, throttle: 2 %, hold: {}, expect: [{policy: floor}]}
  - {case: said, throttle: 90 %, up_to: motors_no_wheels, closed: yes, hold: {}, expect: [{policy: cap}]}
  - {case: a fault, throttle: 2 %, hold: {faults: [{wire: steer, is: lost}]}, expect: [{policy: steer_lost}]}
`)
	var got []interlock.Power
	for _, c := range s.Cases {
		got = append(got, c.UpTo)
	}
	assert.Equal(t, []interlock.Power{interlock.SignalsOnly, interlock.WheelsOffGround, interlock.SignalsOnly, interlock.MotorsNoWheels, interlock.SignalsOnly}, got)
	assert.True(t, s.Cases[3].Closed)
	assert.False(t, s.Cases[0].Closed)
}

func TestShareOfDemandNeedsADemand(t *testing.T) {
	car, bench := bramble(t)
	car.Policy.Demand = nil
	read := func(c string) error {
		data := "suite: s\ndefaults: {speed: 4 m/s, throttle: 40 %, gain: 50 %}\ncases:\n" + c
		_, err := file.ParseSuite(language.Source{Path: "s.yaml", Data: []byte(data)}, car, bench)
		return err
	}
	err := read("  - {case: a, baseline: none, hold: {steer: 8 deg, yaw_rate: 70 % of demand}, expect: [{policy: cap}]}\n")
	assert.ErrorContains(t, err, "s.yaml:4:62: the yaw rate is a share of the demand, but the policy in demo/bramble.yaml declares no demand; write it in deg/s, or add demand: to the policy there")
	err = read("  - {case: a, hold: {steer: 8 deg, yaw_rate: 70 deg/s}, expect: [{policy: understeer}]}\n")
	assert.ErrorContains(t, err, "s.yaml:4:5: the baseline is played with the yaw rate on demand, but the policy in demo/bramble.yaml declares no demand; add baseline: {yaw_rate: 20 deg/s}, or baseline: none, or add demand: to the policy there")
	assert.NoError(t, read("  - {case: a, baseline: {yaw_rate: 60 deg/s}, hold: {steer: 8 deg, yaw_rate: 70 deg/s}, expect: [{policy: understeer}]}\n"))
	assert.NoError(t, read("  - {case: a, hold: {yaw_rate: 70 deg/s}, expect: [{policy: oversteer}]}\n"), "straight on, any demand is 0")
}

func TestCarsAndBenchesThatAreWrongDoNotHideTheSuite(t *testing.T) {
	data := "suite: s\ndefaults: {speed: 4 m/s, throttle: 40 %, gain: 50 %}\ncases:\n  - {case: a, hold: {steer: 8 deg, yaw_rate: 70 % of demand}, expect: [{policy: cap}]}\n"
	_, err := file.ParseSuite(language.Source{Path: "s.yaml", Data: []byte(data)}, nil, nil)
	assert.NoError(t, err)
}

func TestOneMistakeOfManyVariantsIsOneProblem(t *testing.T) {
	car, bench := bramble(t)
	data := "suite: s\ndefaults: {throttle: 40 %, gain: 50 %}\ncases:\n  - {case: a, each: {turn: [left, right], steer: [1 deg, 2 deg]}, hold: {}, expect: [{policy: cap}]}\n"
	_, err := file.ParseSuite(language.Source{Path: "s.yaml", Data: []byte(data)}, car, bench)
	assert.Len(t, err, 1)
	assert.ErrorContains(t, err, "s.yaml:4:5: the case has no speed; add speed: 4 m/s to it or to the defaults")
}

func TestYawRateNeedsAWire(t *testing.T) {
	car, bench := bramble(t)
	bench.Wiring.Frames = nil
	data := "suite: s\ndefaults: {speed: 4 m/s, throttle: 40 %, gain: 50 %}\ncases:\n  - {case: a, hold: {steer: 8 deg}, expect: [{policy: cap}]}\n"
	_, err := file.ParseSuite(language.Source{Path: "s.yaml", Data: []byte(data)}, car, bench)
	assert.ErrorContains(t, err, `s.yaml:4:5: case "a" plays a yaw rate, but bench "bramble bench" sends none`)
}

func TestABaselineHasNoGainWhereAShiftMayGather(t *testing.T) {
	car, bench := bramble(t)
	whole := car.Policy.ShiftAt
	gain := func(baseline string) float64 {
		data := "suite: s\nabout: a b\ndefaults: {speed: 4 m/s, throttle: 40 %, gain: 50 %, steer: 8 deg}\ncases:\n  - case: a\n    hold: {yaw_rate: 70 % of demand}\n" +
			baseline + "    expect: [{policy: understeer}]\n"
		s, err := file.ParseSuite(language.Source{Path: "s.yaml", Data: []byte(data)}, car, bench)
		require.NoError(t, err)
		return s.Cases[0].Steps[0].Values.Gain
	}
	assert.Equal(t, 0.5, gain(""))
	car.Policy.ShiftAt = nil
	assert.Zero(t, gain(""))
	assert.Equal(t, 0.2, gain("    baseline: {gain: 20 %}\n"), "the suite says another")
	assert.Equal(t, 0.5, gain("    baseline: {yaw_rate: 0 deg/s}\n"), "there the suite says what is asked for")
	car.Policy.ShiftAt = whole
}
