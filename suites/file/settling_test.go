package file_test

import (
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"hilrig/rig/signal"
	"hilrig/suites/demo"
	"hilrig/suites/file"
	"hilrig/suites/language"
)

// The first step of a case settles from when the car has come to what it holds; and how fast the steering moves, where that is fed
// forward, is told by one pulse more than where it stands.
func TestStepsSettleForWhatThePolicyRemembers(t *testing.T) {
	const text = "suite: s\nany_policy: yes\ndefaults: {speed: 4 m/s, steer: 8 deg, throttle: 40 %, gain: 50 %, settle: 100 ms, observe: 400 ms}\ncases:\n  - case: a\n    baseline: {yaw_rate: 100 % of demand}\n    hold: {yaw_rate: 60 % of demand}\n    expect: [{policy: understeer}]\n"
	bench, err := file.ParseBench(language.Source{Path: demo.BenchPath, Data: demo.BenchYAML})
	require.NoError(t, err)
	settles := func(key, with string) (first, second signal.Time) {
		policy := string(demo.CarYAML)
		require.Contains(t, policy, key)
		policy = strings.Replace(policy, "throttle_curve: none", "throttle_curve: none\n  smoothing: {filter: 40 ms}", 1)
		car, err := file.ParseCar(language.Source{Path: "car.yaml", Data: []byte(strings.Replace(policy, key, with, 1))})
		require.NoError(t, err)
		s, err := file.ParseSuiteWith(language.Source{Path: "s.yaml", Data: []byte(text)}, file.SuiteOptions{Car: car, Bench: bench})
		require.NoError(t, err)
		steps := s.Cases[0].Steps
		require.Len(t, steps, 2)
		assert.Equal(t, file.Settles(&car.Policy, bench), steps[1].Settle)
		return steps[0].Settle, steps[1].Settle
	}
	const within = "    within: 5 %"
	first, second := settles(within, within)
	assert.Equal(t, file.RollIn, first-second)
	_, fed := settles(within, within+"\n    steer_rate: 20 ms")
	assert.Equal(t, bench.SlowestWire(), fed-second)
}
