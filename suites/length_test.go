package suites_test

import (
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"hilrig/rig/signal"
	"hilrig/suites"
	"hilrig/suites/demo"
	"hilrig/suites/language"
)

// What is estimated is held against what a run has driven.
func TestLengthIsWhatARunDrives(t *testing.T) {
	source := language.Source{Path: "s.yaml", Data: []byte(`
suite: lengths
about: Of every kind.
defaults: {speed: 4 m/s, steer: 8 deg, throttle: 30 %, gain: 50 %}
cases:
  - case: hold
    each: {turn: [left, right], speed: [2 m/s, 4 m/s, 6 m/s, 8 m/s]}
    hold: {yaw_rate: 70 % of demand, settle: 500 ms, observe: 700 ms}
    expect: [{policy: understeer}]
  - case: trials
    hold: {trials: {yaw_rate: [100 % of demand, 70 % of demand], count: 30, interval: 60 ms}}
    expect: [{policy: understeer}]
  - case: compared
    closed: yes
    compare: yes
    repeat: 2
    hold: {settle: 200 ms, observe: 1 s}
    expect: [{measure: rms_yaw_error, at_most: 100 deg/s}]
  - case: compared again
    closed: yes
    compare: yes
    hold: {settle: 200 ms, observe: 1 s}
    expect: [{measure: rms_yaw_error, at_most: 100 deg/s}]
  - case: lost
    hold: {yaw_rate: 70 % of demand, faults: [{wire: yaw_serial, is: lost}]}
    expect: [{motor: all, range: [0 %, 100 %]}]
  - case: behind a loss
    hold: {yaw_rate: 70 % of demand}
    expect: [{policy: understeer}]
`)}
	car := strings.Replace(string(demo.CarYAML), "recovers: by_itself", "recovers: power_cycle", 1)
	s, err := suites.Load(suites.Files{
		Car:    language.Source{Path: demo.CarPath, Data: []byte(car)},
		Bench:  language.Source{Path: demo.BenchPath, Data: demo.BenchYAML},
		Suites: []language.Source{source}, Seed: 1,
	})
	require.NoError(t, err)
	estimated := s.SuiteLength(s.Suites[0])
	_, driven, err := s.Run(t.Context(), suites.Options{})
	require.NoError(t, err)
	// Twenty plays, each after a rest drawn over 50 ms, with a deviation of
	// 50 ms / sqrt(12): 65 ms in all, and here four times that.
	assert.InDelta(t, driven.Seconds(), estimated.Seconds(), 0.26)
	assert.Greater(t, estimated, 20*signal.Second)
}
