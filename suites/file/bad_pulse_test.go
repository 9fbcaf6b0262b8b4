package file_test

import (
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"hilrig/suites/file"
	"hilrig/suites/language"
)

// A bad pulse is one that the bench takes for none, on a wire that has pulses.
func TestBadPulsesAreNoneByTheBench(t *testing.T) {
	car, _ := bramble(t)
	const text = "suite: s\ndefaults: {speed: 4 m/s, throttle: 40 %, gain: 50 %}\ncases:\n  - {case: a, hold: {steer: 8 deg, yaw_rate: 40 % of demand, faults: [{FAULT, is: bad_pulse}]}, expect: [{policy: bad_pulse}]}\n"
	for _, tt := range []struct{ fault, says string }{
		{"wire: steer, width: 300 us", ""},
		{"wire: gain, width: 2900 us, frames: 3", ""},
		{"wire: steer, width: 1500 us", "a pulse of 1.5 ms on steer is a good one by the bench"},
		{"wire: throttle, width: 12 ms", "has no room in the frame of throttle"},
		{"wire: yaw_serial, width: 300 us", "carries no receiver pulses"},
		{"wire: receiver, width: 300 us", "carries no receiver pulses"},
		{"wire: steer", "width"},
	} {
		_, err := file.ParseSuite(language.Source{Path: "s.yaml", Data: []byte(strings.Replace(text, "FAULT", tt.fault, 1))}, car, otherBench(t))
		if tt.says == "" {
			require.NoError(t, err, tt.fault)
			continue
		}
		require.ErrorContains(t, err, tt.says, tt.fault)
	}
	bus := otherBench(t, "  steer: {rate: 100 Hz} # what the pulse stands for is in the car's steering table\n  throttle: {rate: 100 Hz, idle: 1000 us, full: 2000 us}\n  gain: {rate: 100 Hz, idle: 1000 us, full: 2000 us}\n",
		"  bus:\n    port: receiver_bus\n    rate: 100 Hz\n    steer: {channel: 1, counts: [192, 1792], pulses: [1000 us, 2000 us]}\n    throttle: {channel: 2, idle: 192, full: 1792}\n    gain: {channel: 3, idle: 192, full: 1792}\n")
	on := strings.Replace(text, "FAULT", "wire: steer, width: 300 us", 1)
	_, err := file.ParseSuite(language.Source{Path: "s.yaml", Data: []byte(on)}, car, bus)
	require.ErrorContains(t, err, "come on a bus")
	s, err := file.ParseSuite(language.Source{Path: "s.yaml", Data: []byte(strings.Replace(on, "{case: a,", "{case: a, where_wired: yes,", 1))}, car, bus)
	require.NoError(t, err)
	assert.Equal(t, "no receiver pulses, but a bus", s.Cases[0].Missing)
}
