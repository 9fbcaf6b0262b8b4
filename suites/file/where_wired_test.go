package file_test

import (
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"hilrig/suites/demo"
	"hilrig/suites/file"
	"hilrig/suites/standard"
)

// otherBench returns the demo's bench with something replaced.
func otherBench(t *testing.T, replace ...string) *file.Bench {
	t.Helper()
	text := strings.NewReplacer(replace...).Replace(string(demo.BenchYAML))
	bench, err := file.ParseBench(file.Source{Path: "other.yaml", Data: []byte(text)})
	require.NoError(t, err)
	return bench
}

// The standard losses name the yaw-rate sensor by what it carries, and skip what
// a bench does not have.
func TestStandardLossesFitOtherBenches(t *testing.T) {
	car, _ := bramble(t)
	path, data, _ := standard.Source("losses")
	tests := []struct {
		name  string
		bench *file.Bench
		lacks map[string]int // cases by what they lack
	}{
		{"the demo's", otherBench(t), map[string]int{"": 40}},
		{"another name", otherBench(t, "port: yaw_serial", "port: gyro"), map[string]int{"": 40}},
		{"no checksum", otherBench(t, "          - {check: crc8, poly: 0x07, init: 0, from: 2}\n", ""),
			map[string]int{"": 38, "no checksum on yaw_serial": 2}},
		{"tachos", otherBench(t, "kind: quadrature\n  lines: 256", "kind: tacho\n  pulses: 24"),
			map[string]int{"": 24, "no wire front_left_a": 2, "no wire front_left_b": 2, "no wire front_right_a": 2, "no wire front_right_b": 2,
				"no wire rear_left_a": 2, "no wire rear_left_b": 2, "no wire rear_right_a": 2, "no wire rear_right_b": 2}},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			s, err := file.ParseSuite(file.Source{Path: path, Data: data}, car, tt.bench)
			require.NoError(t, err)
			lacks := map[string]int{}
			for i := range s.Cases {
				lacks[s.Cases[i].Lacks]++
				for _, step := range s.Cases[i].Steps {
					for _, f := range step.Wrong {
						assert.NotEqual(t, "yaw_rate", f.Wire, "the port is named")
					}
				}
			}
			assert.Equal(t, tt.lacks, lacks)
		})
	}
}

func TestWireThatIsLackingIsAMistakeUnlessItMayBe(t *testing.T) {
	car, _ := bramble(t)
	_, data, _ := standard.Source("losses")
	text := strings.ReplaceAll(string(data), "    where_wired: yes\n", "")
	_, err := file.ParseSuite(file.Source{Path: "s.yaml", Data: []byte(text)}, car, otherBench(t, "kind: quadrature\n  lines: 256", "kind: tacho\n  pulses: 24"))
	assert.ErrorContains(t, err, `wire "front_left_a" is not one of bench`)
}
