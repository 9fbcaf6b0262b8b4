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

// declared returns the cases of a suite with one case, for the demo car whose policy has these lines in the place of its gain_steps.
func declared(t *testing.T, policy, oneCase string) []file.Case {
	t.Helper()
	const none = "  gain_steps: none\n"
	require.Contains(t, string(demo.CarYAML), none)
	car, err := file.ParseCar(language.Source{Path: "car.yaml", Data: []byte(strings.Replace(string(demo.CarYAML), none, policy, 1))})
	require.NoError(t, err)
	_, bench := bramble(t)
	s, err := file.ParseSuite(language.Source{Path: "s.yaml", Data: []byte("suite: s\nany_policy: yes\ndefaults: {speed: 4 m/s, steer: 8 deg, throttle: {room: 25 %}, gain: {shift: 12 %}}\ncases:\n  - " + oneCase + "\n")}, car, bench)
	require.NoError(t, err)
	return s.Cases
}

// A case that is written for keys of the policy is left out where the policy lacks one of them, or says none there.
func TestACaseIsLeftOutWhereThePolicyLacksItsKeys(t *testing.T) {
	const steps, none, arms, straight = "  gain_steps: [0 %, 100 %]\n", "  gain_steps: none\n", "  arms: throttle_at_idle\n", "straight"
	for _, row := range []struct {
		keys, policy string
		played       int
	}{
		{"gain_steps", steps, 1},
		{"gain_steps", none, 0},
		{"gain_steps", "", 0},
		{"[arms, start_at_rest]", none + arms, 0},
		{"[arms, start_at_rest]", none + "  start_at_rest: 1 s\n", 0},
		{"[arms, start_at_rest]", none + arms + "  start_at_rest: 1 s\n", 1},
		{straight, none, 0}, // the demo car says none there, too
		{"cap", none, 1},
	} {
		cases := declared(t, row.policy, "{case: a, where_declared: "+row.keys+", hold: {yaw_rate: 40 % of demand}, expect: [{policy: cap}]}")
		assert.Len(t, cases, row.played, "%s with %q", row.keys, row.policy)
	}
}

// Without a car nothing is known of its policy, and nothing is left out.
func TestNothingIsLeftOutWithoutACar(t *testing.T) {
	s, err := file.ParseSuite(language.Source{Path: "s.yaml", Data: []byte("suite: s\ndefaults: {speed: 4 m/s, steer: 8 deg, throttle: 40 %, gain: 50 %}\ncases:\n  - {case: a, where_declared: braking, hold: {yaw_rate: 0 deg/s}, expect: [{policy: cap}]}\n")}, nil, nil)
	require.NoError(t, err)
	assert.Len(t, s.Cases, 1)
}

// A gain beside a position of the trim lies off it by a share of the way to the next one; a variant for a position that there is not
// is left out of a case for switches, and asks nothing elsewhere.
func TestAGainBesideAPositionOfTheTrim(t *testing.T) {
	const each = "each: {gain: [{position: 1, off: 30 %}, {position: 2, off: -30 %}, {position: 2, off: 20 %}, {position: 3, off: -30 %}, {position: 3, off: 30 %}, {position: 1, off: -30 %}]}"
	const body = ", hold: {yaw_rate: 40 % of demand}, expect: [{policy: understeer}]}"
	for policy, want := range map[string][]float64{
		"  gain_steps: [0 %, 40 %, 100 %]\n": {0.12, 0.28, 0.52, 0.82},
		"  gain_steps: [20 %, 100 %]\n":      {0.44, 0.76},
		"  gain_steps: none\n":               nil,
	} {
		var got []float64
		for _, c := range declared(t, policy, "{case: a, where_declared: gain_steps, "+each+body) {
			assert.Empty(t, c.NoPoint)
			got = append(got, c.Steps[len(c.Steps)-1].Values.Gain)
		}
		assert.InDeltaSlice(t, want, got, 1e-9, policy)
		all := declared(t, policy, "{case: a, "+each+body)
		require.Len(t, all, 6)
		assert.Equal(t, "by the policy's gain_steps the trim is no switch that has a position 3 and one to that side of it", all[4].NoPoint)
		assert.False(t, all[4].Asked())
	}
}

// A board that arms at an idle throttle is held at idle until shortly before its rest is over: long enough before for it to be seen
// driving, and less than half of the rest before. Where the case asks whether it arms, and where it rolls, the throttle stays up.
func TestTheThrottleIsAtIdleWhileABoardThatArmsRests(t *testing.T) {
	const arms, rest = "  gain_steps: none\n  arms: throttle_at_idle\n", "  start_at_rest: %d ms\n"
	const ms = signal.Millisecond
	for _, row := range []struct {
		name, policy, first, expect string
		from, to                    signal.Time // between which the throttle goes up; 0: it stays
	}{
		{"1.2 s", arms + fmt.Sprintf(rest, 1200), "", "", 900 * ms, 1050 * ms},
		{"100 ms", arms + fmt.Sprintf(rest, 100), "", "", 45 * ms, 50 * ms},
		{"no arming", "  gain_steps: none\n" + fmt.Sprintf(rest, 1200), "", "", 0, 0},
		{"it is asked whether it arms", arms + fmt.Sprintf(rest, 1200), "", ", {policy: arms, step: on}", 0, 0},
		{"it rolls", arms + fmt.Sprintf(rest, 1200), ", speed: 4 m/s", "", 0, 0},
	} {
		t.Run(row.name, func(t *testing.T) {
			c := declared(t, row.policy, "{case: a, power_up: yes, baseline: none, throttle: 40 %, gain: 0 %, steps: [{step: on, settle: 0 ms, observe: 1 s"+row.first+"}, {step: idle, throttle: 0 %, speed: 0 m/s}, {step: driving}], expect: [{policy: start_at_rest, step: on}"+row.expect+"]}")[0]
			shapes := c.Steps[0].Shapes
			if row.to == 0 {
				assert.Empty(t, shapes)
				return
			}
			require.Len(t, shapes, 1)
			require.Equal(t, trace.Throttle, shapes[0].Channel)
			assert.Zero(t, shapes[0].Shape.At(0))
			assert.Zero(t, shapes[0].Shape.At(row.from))
			assert.Positive(t, shapes[0].Shape.At(row.to+10*ms))
			assert.InDelta(t, 0.4, shapes[0].Shape.At(row.to+200*ms), 1e-9)
		})
	}
}
