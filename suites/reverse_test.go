package suites_test

import (
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"

	"hilrig/assertions"
)

// A policy that has understeer alone is asked about it backwards too: where its firmware goes by the slowest wheel, the car turns more than
// the firmware asks in a baseline on demand, and what that brings is not declared.
func TestUndersteerIsAskedBackwardsByItself(t *testing.T) {
	const lines = "demand: {model: single_track, wheelbase: 295 mm, understeer_gradient: 0.002 rad/(m/s2), steer: linear, speed_from: slowest, within: 7.5 %}\n" +
		"  dead_band: 4 deg/s\n  shift_at: {error: 65 deg/s, gain: 50 %, is: 6.5 %, within: 12 %}\n  reverse: mirrored"
	f := bramble("from-policy", "split", "demand")
	car := withLines(string(f.Car.Data), lines)
	f.Car.Data = []byte(ofKey("  ", "oversteer").ReplaceAllString(car, ""))
	s := load(t, f)
	asked := map[string]int{}
	for _, suite := range s.Suites {
		for i := range suite.Cases {
			c := &suite.Cases[i]
			for k := range c.Expect {
				if of, _ := c.Expect[k].Check.(assertions.PolicyBranch); of.Of != "reverse" {
					continue
				}
				for _, p := range c.Planned(k, s.Car, s.Bench) {
					if p.Asked && strings.HasSuffix(p.Name, "raised") {
						asked[suite.Name]++
					}
				}
			}
		}
	}
	assert.Equal(t, map[string]int{"torque split": 2, "demand": 2}, asked)
}
