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
