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

// Worked out by hand from what the demo car declares, V d / (L + K V^2) and 8 % at 60 deg/s with a
// gain of 50 %, with lines of its policy exchanged.
func TestPointsAreThoseOfThePolicy(t *testing.T) {
	const degree = math.Pi / 180
	demand := 4 * 8 / (0.33 + 0.0028*16) // deg/s
	// At 1.2 times 5 m/s and 1.8 times the demand an inner wheel, half of 300 mm from the middle, is slower by
	// 1.8 * 0.15 m * d / (L + K V^2) of the speed, and one steered by 8 deg by d^2 / 2 at most.
	past := 6 / (1 - 1.8*0.15*8*degree/(0.33+0.0028*36) - 32*degree*degree)
	for _, row := range []struct {
		name, from, to               string
		speed, steer, throttle, gain float64
		none                         string
	}{
		{"as it is", "", "", 4, 8 * degree, 0.25, 0.12 / (0.16 / 60 * 0.6 * demand), ""},
		{"past a standstill", "{no_shift_below: 0.5 m/s}", "{no_shift_below: 2 m/s, full_from: 5 m/s}", past, 8 * degree, 0.25, 0.12 / (0.16 / 60 * 0.6 * past * 8 / (0.33 + 0.0028*past*past)), ""},
		{"past straight on", "straight: none", "straight: {no_shift_below: 10 deg}", 4, 12 * degree, 0.25, 0.12 / (0.16 / 60 * 0.6 * 1.5 * demand), ""},
		{"above a floor", "floor: 0 %", "floor: 10 %", 4, 8 * degree, 0.35, 0.12 / (0.16 / 60 * 0.6 * demand), ""},
		{"perhaps above a floor", "  floor: 0 %\n", "", 4, 8 * degree, 0.45, 0.12 / (0.16 / 60 * 0.6 * demand), ""},
		{"any curve", "throttle_curve: none", "throttle_curve: any", 4, 8 * degree, (0.25 + 0.67) / 2, 0.12 / (0.16 / 60 * 0.6 * demand), ""},
		{"a switch", "gain_steps: none", "gain_steps: [0 %, 100 %]", 4, 8 * degree, 0.25, 1, ""},
		{"perhaps a switch", "  gain_steps: none\n", "", 4, 8 * degree, 0.25, 1, ""},
		{"perhaps not straight on", "  straight: none\n", "", 4, 8 * degree, 0.25, 0.12 / (0.16 / 60 * 0.6 * demand), ""},
		{"too weak", "is: 8 %", "is: 0.5 %", 4, 8 * degree, 0.25, 1, "with the gain at 100 % the policy asks for a shift of 0.9 %, and one up to 1 % counts as none"},
		{"no room", "cap: {of: 92 %", "cap: {of: 2 %", 4, 8 * degree, 0.4, 0.12 / (0.16 / 60 * 0.6 * demand), "no throttle leaves so much room between floor and cap"},
	} {
		t.Run(row.name, func(t *testing.T) {
			text := string(demo.CarYAML)
			require.Contains(t, text, row.from)
			car, err := file.ParseCar(language.Source{Path: "car.yaml", Data: []byte(strings.Replace(text, row.from, row.to, 1))})
			require.NoError(t, err)
			bench, err := file.ParseBench(language.Source{Path: "bench.yaml", Data: demo.BenchYAML})
			require.NoError(t, err)
			s, err := file.ParseSuite(language.Source{Path: "s.yaml", Data: []byte("suite: s\nany_policy: yes\ndefaults: {speed: {near: 4 m/s}, steer: {near: 8 deg}, throttle: {room: 25 %}, gain: {shift: 12 %}}\ncases:\n  - {case: a, hold: {yaw_rate: 40 % of demand}, expect: [{policy: understeer}]}\n")}, car, bench)
			require.NoError(t, err)
			c := &s.Cases[0]
			v := c.Steps[1].Values
			assert.InDelta(t, row.speed, v.Speed, 1e-9, "speed")
			assert.InDelta(t, row.steer, v.Steer, 1e-9, "steer")
			assert.InDelta(t, row.throttle, v.Throttle, 1e-9, "throttle")
			assert.InDelta(t, row.gain, v.Gain, 1e-9, "gain")
			assert.Equal(t, row.none == "", c.Asked())
			assert.Contains(t, c.NoPoint, row.none)
		})
	}
}
