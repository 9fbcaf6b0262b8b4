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

// slipping is a case whose wheels slip.
const slipping = `
  - case: a
    each: {turn: [left, right]}
    steer: 5 deg
    slip: {front: 25 %, rear_left: -20 %}
    hold: {yaw_rate: 100 % of demand}
    expect: [{policy: on_demand}]
`

func TestSlipOfAxlesAndWheels(t *testing.T) {
	s := suite(t, slipping)
	for _, step := range s.Cases[0].Steps {
		assert.Equal(t, [4]float64{0.25, 0.25, -0.2, 0}, step.Slip, step.Name)
	}
	for _, step := range s.Cases[1].Steps {
		assert.Equal(t, [4]float64{0.25, 0.25, 0, -0.2}, step.Slip, "%s, in the mirror image", step.Name)
	}
	s = suite(t, `
  - case: a
    steer: 5 deg
    slip: {rear: 10 %}
    baseline: {slip: {front: 0 %}}
    steps: [{step: one}, {step: two, slip: {rear_right: -100 %}}]
    expect: [{policy: on_demand, step: one}]
`)
	assert.Equal(t, [4]float64{}, s.Cases[0].Steps[0].Slip, "a baseline of its own")
	assert.Equal(t, [4]float64{0, 0, 0.1, 0.1}, s.Cases[0].Steps[1].Slip)
	assert.Equal(t, [4]float64{0, 0, 0, -1}, s.Cases[0].Steps[2].Slip, "a step has the whole slip")
}

// By hand, for the demo car: 4 m/s, 5 deg, L = 0.33 m, K = 0.0028. Its firmware takes the mean of all wheels, which with both
// front ones a quarter faster and the left rear one a fifth slower is (2·1.25 + 0.8 + 1)/4 = 1.075 of the car's speed, but
// for what the inner wheel that is slower goes slower anyway: at r = 4·5/(0.33 + 0.0028·16) deg/s and half a track of 0.15 m
// some 0.035 of the speed, of which a fifth of a quarter is 0.0017 more.
func TestADemandGoesByTheWheelsThatSlip(t *testing.T) {
	s := suite(t, slipping)
	v := 4 * (1.075 + 0.0017)
	want := v * 5 / (0.33 + 0.0028*v*v) * deg
	for i, side := range []float64{1, -1} {
		for _, step := range s.Cases[i].Steps {
			assert.InEpsilon(t, side*want, step.Demand, 0.002)
			assert.Equal(t, step.Demand, step.Values.YawRate)
		}
	}
	free := suite(t, "  - {case: a, steer: 5 deg, hold: {yaw_rate: 100 % of demand}, expect: [{policy: on_demand}]}\n")
	assert.Greater(t, last(s, 0).Demand, 1.03*last(free, 0).Demand)
}

func TestSlipsThatCannotBe(t *testing.T) {
	for _, x := range []struct{ name, text, want string }{
		{"twice", "{front: 10 %, front_left: 20 %}", "slip says twice how front_left turns, at front and at front_left; leave one of them out"},
		{"no wheel of the car", "{middle: 10 %}", `key "middle" is not known in the slip`},
		{"no share", "{rear: 30 rad/s}", `"30 rad/s" is an angular rate where a share is expected`},
		{"too much", "{rear: 400 %}", "rear is 400 %, which is out of range; write -100 % to 300 %"},
		{"backwards", "{rear: -120 %}", "rear is -120 %, which is out of range"},
	} {
		t.Run(x.name, func(t *testing.T) {
			assert.ErrorContains(t, suiteError(t, "  - {case: a, hold: {slip: "+x.text+"}, expect: [{policy: on_demand}]}\n"), x.want)
		})
	}
	assert.ErrorContains(t, suiteError(t, "  - {case: a, closed: yes, baseline: none, hold: {slip: {rear: 20 %}}, expect: [{policy: cap}]}\n"),
		"slip has no meaning in closed loop, in which the wheels turn as the model of the car has them; leave it out, or closed: yes")
	assert.ErrorContains(t, suiteError(t, "  - {case: a, hold: {slip: {rear: 20 %}, wheels: {rear_left: 3 rad/s}}, expect: [{policy: on_demand}]}\n"),
		"rear_left has a rate of its own in this step, of which there is no slip")
}

// suiteError returns the error of a suite with these cases.
func suiteError(t *testing.T, cases string) error {
	t.Helper()
	car, bench := bramble(t)
	data := "suite: s\nabout: a b\ndefaults: {speed: 4 m/s, throttle: 40 %, gain: 50 %, settle: 200 ms}\ncases:\n" + cases
	_, err := file.ParseSuite(language.Source{Path: "s.yaml", Data: []byte(data)}, car, bench)
	require.Error(t, err)
	return err
}

// A wheel that spins gives more edges than the bench can play, although the car's speed alone would not.
func TestSlipCountsForWhatAWheelSensorPlays(t *testing.T) {
	car, bench := bramble(t)
	for w := range bench.Wiring.Encoders {
		bench.Wiring.Encoders[w].Quadrature.Lines = 80000 // 3.8e6 edges a second at 4 m/s with wheels of 54 mm
	}
	parse := func(slip string) error {
		data := "suite: s\nabout: a b\ndefaults: {speed: 4 m/s, throttle: 40 %, gain: 50 %}\ncases:\n  - {case: a, slip: {rear: " + slip + "}, hold: {yaw_rate: 0 deg/s}, expect: [{policy: on_demand}]}\n"
		_, err := file.ParseSuite(language.Source{Path: "s.yaml", Data: []byte(data)}, car, bench)
		return err
	}
	assert.NoError(t, parse("10 %"))
	assert.ErrorContains(t, parse("100 %"), "wheel rear_left at ")
}

// The points of a case keep away from what a policy limits by the wheels that are fastest and slowest.
func TestPointsOfACaseWhoseWheelsSlip(t *testing.T) {
	point := func(t *testing.T, policy, slip string) file.Step {
		t.Helper()
		_, bench := bramble(t)
		own := string(demo.CarYAML)
		require.Contains(t, own, "standstill: {no_shift_below: 0.5 m/s}")
		car, err := file.ParseCar(language.Source{Path: "car.yaml", Data: []byte(strings.Replace(own, "standstill: {no_shift_below: 0.5 m/s}", policy, 1))})
		require.NoError(t, err)
		data := "suite: s\nabout: a b\nany_policy: yes\ndefaults: {speed: {near: 0.5 m/s}, steer: {near: 12 deg}, throttle: 40 %, gain: 50 %}\ncases:\n  - {case: a, slip: {front: " + slip + "}, hold: {yaw_rate: 90 % of demand}, expect: [{policy: understeer}]}\n"
		s, err := file.ParseSuite(language.Source{Path: "s.yaml", Data: []byte(data)}, car, bench)
		require.NoError(t, err)
		return last(s, 0)
	}
	const standstill = "standstill: {no_shift_below: 2 m/s}"
	free, dragged := point(t, standstill, "0 %"), point(t, standstill, "-20 %")
	assert.InEpsilon(t, free.Values.Speed/0.8, dragged.Values.Speed, 0.02)
	hubs := dragged.Values.Speed * 0.8
	assert.Greater(t, hubs, 2.0)
	const traction = "traction_control: 40 %"
	assert.Less(t, point(t, traction, "25 %").Values.Steer, 0.5*point(t, traction, "0 %").Values.Steer)
}
