package assertions_test

import (
	"testing"

	"github.com/stretchr/testify/assert"

	"hilrig/assertions"
	"hilrig/assertions/law"
	"hilrig/rig/trace"
)

// What the policy has no motor move by cannot be timed, and is not asked.
func TestWhatMovesNoMotorIsNotTimed(t *testing.T) {
	asked := func(change func(p *law.Policy), of string, c trace.Channel, levels [2]float64) bool {
		p := lossPolicy()
		p.LoopRate, p.Response = new(200.0), &law.Response{AtMost: 12 * ms, Quantile: 0.95}
		if change != nil {
			change(p)
		}
		s := held(1, 0.5)
		s.Changed, s.Levels, s.Gain = c, levels, 1
		return assertions.Plan(assertions.PolicyBranch{Of: of}, &assertions.Evidence{Policy: p, Steps: []assertions.Step{s}, CommandStep: 0.001})[0].Asked
	}
	yaw := [2]float64{90 * deg, 45 * deg}
	integrating := func(p *law.Policy) { p.ShiftAt.Grows, p.ShiftAt.Most = law.GrowthIntegrating, 0.3 }
	assert.True(t, asked(nil, "response", trace.YawRate, yaw))
	assert.True(t, asked(nil, "loop_rate", 0, [2]float64{}))
	assert.False(t, asked(nil, "response", trace.YawRate, [2]float64{90 * deg, 89.9 * deg}), "less than counts as a shift")
	assert.False(t, asked(integrating, "response", trace.YawRate, yaw), "it moves later than it answers")
	assert.True(t, asked(integrating, "response", trace.Throttle, [2]float64{0.3, 0.5}), "the throttle does not")
	assert.False(t, asked(integrating, "loop_rate", 0, [2]float64{}))
	assert.False(t, asked(func(p *law.Policy) { p.Standstill = &law.Fade{From: 20, Full: 20} }, "loop_rate", 0, [2]float64{}), "no shift at any speed of the step")
	assert.False(t, asked(func(p *law.Policy) { p.ShiftAt = nil }, "response", trace.YawRate, yaw), "it may grow with time")
	assert.True(t, asked(func(p *law.Policy) { p.ShiftAt = nil }, "response", trace.Throttle, [2]float64{0.3, 0.5}), "the throttle does not")
	steer := [2]float64{0, 10 * deg}
	assert.True(t, asked(nil, "response", trace.Steer, steer))
	assert.False(t, asked(func(p *law.Policy) {
		d := *p.Demand
		d.SteerRate = 0.03
		p.Demand = &d
	}, "response", trace.Steer, steer), "what comes first is as the steering moves, not as it stands")
}
