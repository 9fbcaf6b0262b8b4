package file_test

import (
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"hilrig/stimulus"
	"hilrig/suites/demo"
	"hilrig/suites/file"
	"hilrig/suites/language"
	"hilrig/suites/standard"
)

// otherBench returns the demo's bench with something replaced.
func otherBench(t *testing.T, replace ...string) *file.Bench {
	t.Helper()
	text := strings.NewReplacer(replace...).Replace(string(demo.BenchYAML))
	bench, err := file.ParseBench(language.Source{Path: "other.yaml", Data: []byte(text)})
	require.NoError(t, err)
	return bench
}

// The standard losses name the yaw-rate sensor by what it carries, and skip what
// a bench does not have.
func TestStandardLossesFitOtherBenches(t *testing.T) {
	car, _ := bramble(t)
	path, data, _ := standard.Source("losses")
	const noFlag = "no receiver bus, whose frames have a failsafe flag"
	tests := []struct {
		name    string
		bench   *file.Bench
		missing map[string]int // cases by what they lack
	}{
		{"the demo's", otherBench(t), map[string]int{"": 65, noFlag: 2}},
		{"another name", otherBench(t, "port: yaw_serial", "port: gyro"), map[string]int{"": 65, noFlag: 2}},
		{"no checksum", otherBench(t, "          - {check: crc8, poly: 0x07, init: 0, from: 2}\n", ""),
			map[string]int{"": 63, noFlag: 2, "no checksum on yaw_serial": 2}},
		{"tachos", otherBench(t, "kind: quadrature\n  lines: 256", "kind: tacho\n  pulses: 24"),
			map[string]int{"": 49, noFlag: 2, "no wire front_left_a": 2, "no wire front_left_b": 2, "no wire front_right_a": 2, "no wire front_right_b": 2,
				"no wire rear_left_a": 2, "no wire rear_left_b": 2, "no wire rear_right_a": 2, "no wire rear_right_b": 2}},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			s, err := file.ParseSuite(language.Source{Path: path, Data: data}, car, tt.bench)
			require.NoError(t, err)
			missing := map[string]int{}
			for i := range s.Cases {
				missing[s.Cases[i].Missing]++
				for _, step := range s.Cases[i].Steps {
					for _, f := range step.Faults {
						assert.NotEqual(t, "yaw_rate", f.Wire, "the port is named")
					}
				}
			}
			assert.Equal(t, tt.missing, missing)
		})
	}
}

func TestWireThatIsMissingIsAMistakeUnlessItMayBe(t *testing.T) {
	car, _ := bramble(t)
	_, data, _ := standard.Source("losses")
	text := strings.ReplaceAll(string(data), "    where_wired: yes\n", "")
	_, err := file.ParseSuite(language.Source{Path: "s.yaml", Data: []byte(text)}, car, otherBench(t, "kind: quadrature\n  lines: 256", "kind: tacho\n  pulses: 24"))
	assert.ErrorContains(t, err, `wire "front_left_a" is not one of bench`)
}

// otherFields returns the demo's bench with other parts in its sensor's frames.
func otherFields(t *testing.T, frames string) *file.Bench {
	t.Helper()
	from, to := strings.Index(string(demo.BenchYAML), "      - rate: 200 Hz"), strings.Index(string(demo.BenchYAML), "\nmotors:")
	return otherBench(t, string(demo.BenchYAML[from:to]), frames)
}

const (
	packedYaw = "{bits: 16, channel: yaw_rate, signed: yes, scale: 0.0625 deg/s}"
	lateral   = "{channel: lateral_acceleration, as: i16, scale: 0.01 m/s2}"
	crcOfAll  = "{check: crc8, poly: 0x07}"
)

// A channel is found wherever its port carries it, and what a fault adds is of
// that channel, not of what the port carries before it.
func TestFaultsFindWhatAPortCarries(t *testing.T) {
	car, _ := bramble(t)
	path, data, _ := standard.Source("losses")
	for _, tt := range []struct {
		name, frames, channel string
	}{
		{"packed", "      - {rate: 200 Hz, fields: [{packed: [" + packedYaw + "]}, " + crcOfAll + "]}\n", ""},
		{"behind another", "      - {rate: 200 Hz, fields: [" + lateral + ", {packed: [" + packedYaw + "]}, " + crcOfAll + "]}\n", "yaw_rate"},
		{"in the second frame", "      - {nmea: vtg, rate: 5 Hz}\n      - {rate: 100 Hz, fields: [{packed: [" + packedYaw + "]}, " + crcOfAll + "]}\n", "yaw_rate"},
	} {
		t.Run(tt.name, func(t *testing.T) {
			s, err := file.ParseSuite(language.Source{Path: path, Data: data}, car, otherFields(t, tt.frames))
			require.NoError(t, err)
			spikes := 0
			for i := range s.Cases {
				if c := &s.Cases[i]; c.Name != "counter of the yaw frames stands still" && c.Name != "receiver out of reach" {
					assert.Empty(t, c.Missing, c.Name)
				}
				for _, step := range s.Cases[i].Steps {
					for _, f := range step.Faults {
						if f.Kind == stimulus.Spike {
							spikes++
							assert.Equal(t, []string{"yaw_serial", tt.channel}, []string{f.Wire, f.Channel})
						}
					}
				}
			}
			assert.NotZero(t, spikes)
		})
	}
}

// What a sentence carries has names too, and a receiver channel keeps its own wire
// where a sensor's frame repeats it.
func TestFaultsOnSentencesAndRepeatedChannels(t *testing.T) {
	bench := otherFields(t, "      - {nmea: vtg, rate: 5 Hz}\n      - {rate: 100 Hz, fields: [{packed: [{bits: 11, channel: throttle, scale: 0.1 %}, {bits: 5}, "+packedYaw+"]}]}\n")
	for _, tt := range []struct {
		name, fault, wire, channel, wrong string
	}{
		{"speed of a sentence", "{wire: speed, is: spike, by: 2 m/s}", "yaw_serial", "", ""},
		{"not in its unit", "{wire: speed, is: spike, by: 2 deg/s}", "", "", "by: \"2 deg/s\" is an angular rate where a speed is expected, which speed carries"},
		{"heading of a sentence", "{wire: heading, is: noisy, by: 2 deg}", "yaw_serial", "heading", ""},
		{"behind it", "{wire: yaw_rate, is: spike, by: 2 deg/s}", "yaw_serial", "yaw_rate", ""},
		{"the port, which begins with speed", "{wire: yaw_serial, is: spike, by: 2 m/s}", "yaw_serial", "", ""},
		{"a receiver channel", "{wire: throttle, is: lost}", "throttle", "", ""},
		{"carried by none", "{wire: lateral_acceleration, is: lost}", "", "", "wire \"lateral_acceleration\" is not one of bench"},
	} {
		t.Run(tt.name, func(t *testing.T) {
			car, _ := bramble(t)
			text := "suite: s\ndefaults: {speed: 2 m/s, throttle: 40 %, gain: 50 %}\ncases:\n" +
				"  - {case: a, hold: {yaw_rate: 10 deg/s, faults: [" + tt.fault + "]}, expect: [{sum: kept}]}\n"
			s, err := file.ParseSuite(language.Source{Path: "s.yaml", Data: []byte(text)}, car, bench)
			if tt.wrong != "" {
				assert.ErrorContains(t, err, tt.wrong)
				return
			}
			require.NoError(t, err)
			f := last(s, 0).Faults[0]
			assert.Equal(t, []string{tt.wire, tt.channel}, []string{f.Wire, f.Channel})
		})
	}
}

// A spike is held against the field that carries what it falls on.
func TestSpikeIsClippedByItsOwnField(t *testing.T) {
	bench := otherFields(t, "      - {rate: 200 Hz, fields: ["+lateral+", {packed: ["+packedYaw+"]}]}\n")
	got, err := linted(t, bench, "  - {case: a, hold: {yaw_rate: 50 deg/s, faults: [{wire: yaw_rate, is: spike, by: 2000 deg/s}]}, expect: [{policy: spike}]}\n")
	require.NoError(t, err)
	require.Len(t, got, 1)
	assert.ErrorContains(t, got[0], "is clipped by its field; the field holds -2048 deg/s to 2048 deg/s")
}
