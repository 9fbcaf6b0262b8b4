package assertions_test

import (
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"hilrig/assertions"
	"hilrig/assertions/law"
	"hilrig/rig/signal"
)

// TestWhatStaysOpenSaysWhatWouldDecideIt holds boards against limits that lie just where they were measured.
func TestWhatStaysOpenSaysWhatWouldDecideIt(t *testing.T) {
	share := func(m *assertions.Measurement) float64 { return m.Estimate / 100 }
	within := func(m *assertions.Measurement) signal.Time { return signal.FromSeconds(m.Estimate / 1000) }
	const sampler = "or have finer steps or a faster sampler"
	for _, tt := range []struct {
		of     string
		change func(*firmware)
		limit  func(p *law.Policy, m *assertions.Measurement)
		own    string // what would decide it
		given  string // and in a standard suite
	}{
		{"spike", nil, func(p *law.Policy, m *assertions.Measurement) { p.Spike = new(share(m)) }, "more room in the policy's spike, " + sampler, "more room in the policy's spike, " + sampler},
		{"spike", restless, func(p *law.Policy, m *assertions.Measurement) { p.Spike = new(share(m) + 0.9*(m.High-m.Estimate)/100) },
			"more room in the policy's spike, or let the spike come later after the settling", "more room in the policy's spike, or quieten what makes the commands move"},
		{"bad_pulse", func(f *firmware) { f.believesPulse = true }, func(p *law.Policy, m *assertions.Measurement) { p.DeadShift = share(m) }, "more room in the policy's dead_shift, " + sampler, "more room in the policy's dead_shift, " + sampler},
		{"yaw_lost", nil, func(p *law.Policy, m *assertions.Measurement) { p.YawLost.Within = within(m) }, "more time in the policy, or have commands that come more often", "more time in the policy"},
		{"throttle_lost", nil, func(p *law.Policy, m *assertions.Measurement) { p.ThrottleLost.Within = within(m) }, "more time in the policy, or have commands that come more often", "more time in the policy"},
		{"arms", neverIdle, func(p *law.Policy, m *assertions.Measurement) { p.DeadShift = share(m) }, "more room in the policy's dead_shift, " + sampler, sampler},
		{"start", neverIdle, func(p *law.Policy, m *assertions.Measurement) { p.DeadShift = share(m) }, "more room in the policy's dead_shift, " + sampler, sampler},
	} {
		t.Run(tt.of, func(t *testing.T) {
			check, steps := assertions.PolicyBranch{Of: tt.of, Step: judgedStep(tt.of)}, faultCases[tt.of]
			e := played(lossPolicy(), tt.change, steps...)
			measured, ok := assertions.Judge(check, e)[0].Measurement()
			require.True(t, ok)
			p := lossPolicy()
			tt.limit(p, &measured)
			e.Policy = p
			for given, want := range map[bool]string{false: tt.own, true: tt.given} {
				e.Given = given
				r := assertions.Judge(check, e)[0]
				assert.Equal(t, assertions.Undecided, r.Verdict, "%+v", r)
				assert.Contains(t, r.Why, want)
			}
		})
	}
}

// neverIdle is a board one of whose motors is driven a little where the others are at idle.
func neverIdle(f *firmware) {
	f.null = func(float64, *rand.Rand) ([4]float64, bool) { return [4]float64{0.015}, true }
}

// restless is a board whose commands wander with time.
func restless(f *firmware) {
	f.last = func(in *seen, m *[4]float64) { m[0] += 0.05 * in.now.Seconds() }
}
