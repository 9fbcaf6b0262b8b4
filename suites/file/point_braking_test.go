package file_test

import (
	"os"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"hilrig/suites/demo"
	"hilrig/suites/file"
	"hilrig/suites/language"
)

// A throttle below idle is played where motors and receiver go so far down; where they do not, nothing is asked,
// and the suite is right all the same. Pulses go down to 0.8 ms where a bench says nothing else.
func TestAThrottleBelowIdleIsAskedWhereItCanBePlayed(t *testing.T) {
	const (
		throttle = "throttle: {rate: 100 Hz, idle: 1000 us, full: 2000 us}"
		receiver = "  steer: {rate: 100 Hz} # what the pulse stands for is in the car's steering table\n  " + throttle + "\n  gain: {rate: 100 Hz, idle: 1000 us, full: 2000 us}\n"
		bus      = "  bus:\n    port: receiver_bus\n    rate: 100 Hz\n    steer: {channel: 1, counts: [172, 1811], pulses: [988 us, 2012 us]}\n    throttle: {channel: 3, idle: IDLE, full: FULL}\n    gain: {channel: 6, idle: 172, full: 1811}\n"
	)
	ofBus := func(idle, full string) string { return strings.NewReplacer("IDLE", idle, "FULL", full).Replace(bus) }
	for _, row := range []struct {
		name, from, to string
		throttle       float64
		none           string
	}{
		{"idle at the lower end", "", "", 0, "the receiver's throttle does not go 30 % below idle"},
		{"idle in the middle", throttle, "throttle: {rate: 100 Hz, idle: 1500 us, full: 2000 us}", -0.3, ""},
		{"the other way round", throttle, "throttle: {rate: 100 Hz, idle: 1500 us, full: 1000 us}", -0.3, ""},
		{"a bus, idle at the lower end", receiver, ofBus("172", "1811"), 0, "the receiver's throttle does not go 30 % below idle"},
		{"a bus, idle in the middle", receiver, ofBus("992", "1811"), -0.3, ""},
		{"motors of one direction", "  two_direction: yes\n  forward: lower\n  wheels:\n    front_left: {forward: upper}\n", "", 0, "the bench's motors have no commands below idle"},
	} {
		t.Run(row.name, func(t *testing.T) {
			data, err := os.ReadFile("../testdata/benches/dshot300_two_directions.yaml")
			require.NoError(t, err)
			require.Contains(t, string(data), row.from)
			car, err := file.ParseCar(language.Source{Path: demo.CarPath, Data: []byte(strings.Replace(string(demo.CarYAML), "policy:\n", "policy:\n  braking: no_shift\n", 1))})
			require.NoError(t, err)
			bench, err := file.ParseBench(language.Source{Path: "bench.yaml", Data: []byte(strings.Replace(string(data), row.from, row.to, 1))})
			require.NoError(t, err)
			s, err := file.ParseSuite(language.Source{Path: "s.yaml", Data: []byte("suite: s\nany_policy: yes\ncases:\n  - {case: a, speed: 4 m/s, steer: 8 deg, gain: 50 %, throttle: {below_idle: 30 %}, baseline: {gain: 0 %}, hold: {yaw_rate: 40 % of demand}, expect: [{policy: braking}]}\n")}, car, bench)
			require.NoError(t, err)
			assert.InDelta(t, row.throttle, s.Cases[0].Steps[1].Values.Throttle, 1e-9)
			assert.Equal(t, row.none, s.Cases[0].NoPoint)
		})
	}
}
