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

// A board behind sensors that do not tell the sense of rotation is not asked what it does backwards.
func TestReverseIsNotAskedWhereNoSensorReportsIt(t *testing.T) {
	const suite = "suite: s\ndefaults: {speed: -2 m/s, steer: 8 deg, throttle: 40 %, gain: 50 %}\ncases:\n  - {case: a, hold: {yaw_rate: 40 % of demand}, expect: [{policy: reverse}, {policy: on_demand}]}\n"
	quadrature := string(demo.BenchYAML)
	tacho := strings.Replace(quadrature, "encoders:\n  kind: quadrature\n  lines: 256\n", "encoders: {kind: tacho, pulses: 256}\n", 1)
	require.NotEqual(t, quadrature, tacho)
	car, err := file.ParseCar(language.Source{Path: demo.CarPath, Data: demo.CarYAML})
	require.NoError(t, err)
	for bench, why := range map[string]string{quadrature: "", tacho: "the bench's wheel sensors do not tell the sense of rotation"} {
		b, err := file.ParseBench(language.Source{Path: "bench.yaml", Data: []byte(bench)})
		require.NoError(t, err)
		s, err := file.ParseSuiteWith(language.Source{Path: "s.yaml", Data: []byte(suite)}, file.SuiteOptions{Car: car, Bench: b})
		require.NoError(t, err)
		assert.Equal(t, why, s.Cases[0].Expect[0].NotAsked)
		assert.Empty(t, s.Cases[0].Expect[1].NotAsked)
	}
}

// To do another thing backwards than forwards takes sensors that tell the two apart; to do the same takes none.
func TestAReverseThatNoSensorTellsIsAWarning(t *testing.T) {
	const tachos = "kind: tacho\n  pulses: 200"
	for _, row := range []struct {
		reverse, encoders string
		warned            bool
	}{
		{"no_shift", tachos, true},
		{"mirrored", tachos, true},
		{"as_forward", tachos, false},
		{"no_shift", "kind: quadrature\n  lines: 256", false},
		{"", tachos, false},
	} {
		t.Run(row.reverse+" "+row.encoders, func(t *testing.T) {
			line := "  reverse: " + row.reverse + "\n"
			if row.reverse == "" {
				line = ""
			}
			car, err := file.ParseCar(language.Source{Path: "car.yaml", Data: []byte(strings.Replace(string(demo.CarYAML), "  reverse: no_shift\n", line, 1))})
			require.NoError(t, err)
			bench, err := file.ParseBench(language.Source{Path: "bench.yaml", Data: []byte(strings.Replace(string(demo.BenchYAML), "kind: quadrature\n  lines: 256", row.encoders, 1))})
			require.NoError(t, err)
			got := file.LintWay(bench, car)
			if !row.warned {
				assert.Empty(t, got)
				return
			}
			require.Len(t, got, 1)
			assert.Equal(t, language.Warning, got[0].Level)
			assert.True(t, strings.HasPrefix(got[0].Error(), "car.yaml:63:"), got[0].Error())
			assert.Contains(t, got[0].Error(), "which the tachos in bench.yaml do not tell: no board can keep it; leave reverse out, or declare other encoders")
			assert.Contains(t, got[0].Excerpt, "reverse: "+row.reverse)
		})
	}
}
