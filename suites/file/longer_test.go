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

// What follows on a loss is observed for twice the time that the policy allows, in which the commands go through
// whatever holds them up.
func TestALossIsObservedForAsLongAsTheCommandsTake(t *testing.T) {
	const text = "suite: s\ndefaults: {speed: 4 m/s, steer: 8 deg, throttle: 40 %, gain: 50 %, yaw_rate: 50 % of demand}\ncases:\n  - case: a\n    steps:\n      - {step: before}\n      - {step: lost, settle: 100 ms, faults: [{wire: yaw_rate, is: lost}]}\n    expect: [{policy: yaw_lost, step: lost}]\n"
	const ms = signal.Millisecond
	for smoothing, lasts := range map[string]signal.Time{"": 250 * ms, "filter: 10 ms": 410 * ms, "full_range_in: 300 ms": 850 * ms} {
		policy := string(demo.CarYAML)
		require.Contains(t, policy, "yaw_lost: {no_shift_within: 100 ms}")
		if smoothing != "" {
			policy = strings.Replace(policy, "throttle_curve: none", "throttle_curve: none\n  smoothing: {"+smoothing+"}", 1)
		}
		car, err := file.ParseCar(language.Source{Path: "car.yaml", Data: []byte(policy)})
		require.NoError(t, err)
		s, err := file.ParseSuiteWith(language.Source{Path: "s.yaml", Data: []byte(strings.Replace(text, "settle: 100 ms,", "settle: 100 ms, observe: 10 ms,", 1))}, file.SuiteOptions{Car: car})
		require.NoError(t, err)
		steps := s.Cases[0].Steps
		last := steps[len(steps)-1]
		assert.Equal(t, lasts, last.Settle+last.Observe, smoothing)
	}
}

// Of a shift that grows with time a car on demand is held for longer, in which a demand that is a little more or less than declared
// comes to a shift.
func TestACarOnDemandIsHeldForLongerWhereAShiftGathers(t *testing.T) {
	const text = "suite: s\nany_policy: yes\ndefaults: {speed: 4 m/s, steer: 8 deg, throttle: 40 %, gain: 50 %, settle: 300 ms, observe: 400 ms}\ncases:\n  - case: a\n    baseline: {gain: 0 %}\n    hold: {yaw_rate: 100 % of demand}\n    expect: [{policy: on_demand}]\n"
	settles := func(grows, of string) signal.Time {
		policy := string(demo.CarYAML)
		const size = "within: 10 %}"
		require.Contains(t, policy, size)
		car, err := file.ParseCar(language.Source{Path: "car.yaml", Data: []byte(strings.Replace(policy, size, "within: 10 %"+grows+"}", 1))})
		require.NoError(t, err)
		bench, err := file.ParseBench(language.Source{Path: demo.BenchPath, Data: demo.BenchYAML})
		require.NoError(t, err)
		s, err := file.ParseSuiteWith(language.Source{Path: "s.yaml", Data: []byte(strings.Replace(text, "on_demand", of, 1))}, file.SuiteOptions{Car: car, Bench: bench})
		require.NoError(t, err)
		steps := s.Cases[0].Steps
		return steps[len(steps)-1].Settle
	}
	const integrating = ", grows: integrating, most: 12 %"
	assert.Equal(t, 3*signal.Second, settles(integrating, "on_demand")-settles(integrating, "zero_gain"))
	assert.Equal(t, settles("", "on_demand"), settles("", "zero_gain"))
}

// A board whose watchdog resets it while a signal is lost boots after it is back. Where the throttle has to be let go, the step that
// gives the signal back lasts until the board has booted: the demo's says 3 s.
func TestWhatComesBackIsWatchedUntilABoardHasBooted(t *testing.T) {
	const text = "suite: s\ndefaults: {speed: 4 m/s, steer: 8 deg, throttle: 40 %, gain: 50 %, yaw_rate: 50 % of demand}\ncases:\n  - case: a\n    steps:\n      - {step: before}\n      - {step: lost, faults: [{wire: throttle, is: lost}]}\n      - {step: given back}\n    expect: [{policy: recovers, step: given back}]\n"
	bench, err := file.ParseBench(language.Source{Path: demo.BenchPath, Data: demo.BenchYAML})
	require.NoError(t, err)
	for words, want := range map[string]bool{"recovers: by_itself": false, "recovers: throttle_at_idle": true, "recovers: power_cycle": true} {
		car, err := file.ParseCar(language.Source{Path: "car.yaml", Data: []byte(strings.Replace(string(demo.CarYAML), "recovers: by_itself", words, 1))})
		require.NoError(t, err)
		s, err := file.ParseSuiteWith(language.Source{Path: "s.yaml", Data: []byte(text)}, file.SuiteOptions{Car: car, Bench: bench})
		require.NoError(t, err)
		steps := s.Cases[0].Steps
		last := steps[len(steps)-1]
		assert.Equal(t, want, last.Settle+last.Observe > bench.Board.ReadyAfter, "%s: %v", words, last.Settle+last.Observe)
	}
}
