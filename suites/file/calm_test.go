package file_test

import (
	"fmt"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"hilrig/suites/demo"
	"hilrig/suites/file"
	"hilrig/suites/language"
)

// A drive is asked to have the board shift where the law surely asks for it, by as much as the check leaves open: of the
// motors, which may stand apart, of the receiver's pulses and of what smoothing remembers.
func TestADriveIsAskedForAShiftWhereThatIsSure(t *testing.T) {
	var log strings.Builder
	log.WriteString("time [s],speed [m/s],steer [deg],yaw_rate [deg/s],throttle [%]\n")
	for k := range 41 { // understeer and oversteer in turns, each for half a second
		yaw := 20
		if k/10%2 > 0 {
			yaw = 150
		}
		fmt.Fprintf(&log, "%.2f,4,8,%d,30\n", float64(k)*0.05, yaw)
	}
	text := "suite: s\nany_policy: yes\ndefaults: {gain: 50 %}\ncases:\n  - {case: a, replay: log.csv, expect: [{policy: follows}]}\n"
	const calm = "the policy asks for a clear shift too rarely in this drive"
	for _, row := range []struct{ name, from, to, why string }{
		{"as it is", "", "", ""},
		{"motors may stand as far apart as they are shifted", "motors_equal_within: 1 %", "motors_equal_within: 9 %", calm},
		{"a filter that remembers longer than an error lasts", "throttle_curve: none", "throttle_curve: none\n  smoothing: {filter: 80 ms}", calm},
	} {
		t.Run(row.name, func(t *testing.T) {
			require.Contains(t, string(demo.CarYAML), row.from)
			car, err := file.ParseCar(language.Source{Path: "car.yaml", Data: []byte(strings.Replace(string(demo.CarYAML), row.from, row.to, 1))})
			require.NoError(t, err)
			bench, err := file.ParseBench(language.Source{Path: "bench.yaml", Data: demo.BenchYAML})
			require.NoError(t, err)
			s, err := file.ParseSuiteWith(language.Source{Path: "s.yaml", Data: []byte(text)}, file.SuiteOptions{Car: car, Bench: bench, Read: func(string) ([]byte, error) { return []byte(log.String()), nil }})
			require.NoError(t, err)
			found := false
			for _, p := range s.Cases[0].Planned(0, car, bench) {
				if p.Name == "follows: a shift is asked for" {
					found = true
					assert.Equal(t, row.why, p.Why)
				}
			}
			assert.True(t, found)
		})
	}
}
