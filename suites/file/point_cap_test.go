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

// Where the four motors together come to their limit below the cap, a throttle just below that is what a motor is
// taken to its cap from: by a shift of 12 % from 85.5 %, of a quarter of 350 %, to beyond 92 %, and by none from 68 %.
func TestBelowTheCapIsBelowWhatAllMayComeTo(t *testing.T) {
	for _, row := range []struct {
		name, cap, lines string
		throttle         float64
	}{
		{"no limit of all", "{of: 92 %, steer_above: 2 deg}", "", 0.90},
		{"one above the cap", "{of: 92 %, steer_above: 2 deg}", "  sum_cap: 380 %\n", 0.90},
		{"one within a shift of the cap", "{of: 92 %, steer_above: 2 deg}", "  sum_cap: 350 %\n", 0.855},
		{"one farther than a shift below it", "{of: 92 %, steer_above: 2 deg}", "  sum_cap: 280 %\n", 0.90},
		{"a cap that no shift comes to", "{of: 92 %, steer_above: 2 deg, cut: before_shift}", "  sum_cap: 350 %\n", 0.90},
	} {
		t.Run(row.name, func(t *testing.T) {
			text := string(demo.CarYAML)
			const capped, floored = "  cap: {of: 92 %, steer_above: 2 deg}\n", "  floor: 0 %\n"
			require.Contains(t, text, capped)
			require.Contains(t, text, floored)
			text = strings.Replace(strings.Replace(text, capped, "  cap: "+row.cap+"\n", 1), floored, row.lines+floored, 1)
			car, err := file.ParseCar(language.Source{Path: "car.yaml", Data: []byte(text)})
			require.NoError(t, err)
			bench, err := file.ParseBench(language.Source{Path: "bench.yaml", Data: demo.BenchYAML})
			require.NoError(t, err)
			s, err := file.ParseSuite(language.Source{Path: "s.yaml", Data: []byte("suite: s\nany_policy: yes\ndefaults: {speed: {near: 4 m/s}, steer: {near: 8 deg}, throttle: {below_cap: 2 %}, gain: {shift: 12 %}}\ncases:\n  - {case: a, baseline: {gain: 0 %}, hold: {yaw_rate: 40 % of demand}, expect: [{policy: at_the_limit}]}\n")}, car, bench)
			require.NoError(t, err)
			v := s.Cases[0].Steps[1].Values
			assert.InDelta(t, row.throttle, v.Throttle, 1e-9)
		})
	}
}
