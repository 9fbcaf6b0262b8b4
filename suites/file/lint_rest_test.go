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

// A bench that does not leave the board at rest for as long as the policy has it stand there is
// told at the key that does so.
func TestABenchThatLeavesTheBoardNoRestIsAWarning(t *testing.T) {
	thistle := demo.Of("built-in/moment")
	const ready, yaw = "  ready_after: 3 s\n", "yaw_rate: 0 deg/s"
	tests := []struct {
		name     string
		from, to string
		rest     signal.Time // that the policy declares; 0: none
		want     string      // "": nothing
	}{
		{"long enough", ready, ready, signal.Second, ""},
		{"by a slow clock", ready, "  ready_after: 1100 ms\n", signal.Second, ""},
		{"too short", ready, "  ready_after: 1 s\n", signal.Second,
			"b.yaml:37:16: after power-up the board is at rest for 1 s (ready_after), and the policy in demo/thistle.yaml has the board stand at rest for 1 s (start_at_rest); write ready_after: 2 s, by which it has come up too"},
		{"left out", ready, "", 5 * signal.Second,
			"b.yaml:36:3: after power-up the board is at rest for 3 s (ready_after), and the policy in demo/thistle.yaml has the board stand at rest for 5 s (start_at_rest); write ready_after: 6 s"},
		{"turning", yaw, "yaw_rate: 20 deg/s", signal.Second,
			"b.yaml:38:58: after power-up and between cases the yaw rate is 20 deg/s, and the policy in demo/thistle.yaml has the board stand at rest for 1 s (start_at_rest); write yaw_rate: 0 deg/s, or leave it out"},
		{"not asked", ready, "  ready_after: 0 ms\n", 0, ""},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			car, err := file.ParseCar(language.Source{Path: thistle.CarPath, Data: thistle.Car})
			require.NoError(t, err)
			car.Policy.StartAtRest = nil
			if tt.rest > 0 {
				car.Policy.StartAtRest = &tt.rest
			}
			text := string(thistle.Bench)
			require.Contains(t, text, tt.from)
			bench, err := file.ParseBench(language.Source{Path: "b.yaml", Data: []byte(strings.Replace(text, tt.from, tt.to, 1))})
			require.NoError(t, err)
			got := file.LintRest(bench, car)
			if tt.want == "" {
				assert.Empty(t, got)
				return
			}
			require.Len(t, got, 1)
			assert.Equal(t, language.Warning, got[0].Level)
			assert.True(t, strings.HasPrefix(got[0].Error(), tt.want), got[0].Error())
			assert.NotEmpty(t, got[0].Excerpt)
		})
	}
}
