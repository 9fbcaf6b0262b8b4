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
