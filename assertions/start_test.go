package assertions_test

import (
	"slices"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"hilrig/assertions"
	"hilrig/assertions/law"
)

// A board that drives on without a signal once it is lost may do so after power-up as well, unless the policy says that it waits
// for it; one that stops for want of it may not.
func TestABoardMayStartWithoutWhatItDrivesOnWithout(t *testing.T) {
	driving := func(f *firmware) { f.drivesAtOnce = true }
	for _, c := range []struct {
		then  law.LossThen
		waits []law.Input
		want  assertions.Verdict
	}{
		{law.LossNoShift, nil, assertions.NotAsked}, {law.LossNoShift, []law.Input{law.InputSteer}, assertions.NotAsked},
		{law.LossNoShift, []law.Input{law.InputYawRate}, assertions.Fail}, {law.LossIgnored, nil, assertions.NotAsked},
		{law.LossIgnored, []law.Input{law.InputYawRate}, assertions.Fail}, {law.LossIdle, nil, assertions.Fail},
	} {
		p := lossPolicy()
		p.YawLost, p.StartWaitsFor = &law.Loss{Then: c.then, Within: 100 * ms}, c.waits
		results := judge("start", "power_up", p, driving, faultCases["start"]...)
		assert.Equal(t, c.want, assertions.Worst(results), "%v, waits for %v: %+v", c.then, c.waits, results)
		if c.want == assertions.Fail {
			assert.Equal(t, len(c.waits) > 0, slices.Contains(results[0].Keys, "start_waits_for"), "%v", results[0].Keys)
		}
		p.YawLost = nil
		results = judge("start", "power_up", p, driving, faultCases["start"]...)
		assert.Equal(t, slices.Contains(c.waits, law.InputYawRate), assertions.Worst(results) == assertions.Fail, "%+v", results)
	}
}

// Whether the car rolls or has not rested for long enough, a board that finds its zero at rest
// does not drive.
func TestABoardThatRestsFirst(t *testing.T) {
	p := lossPolicy()
	p.Arms = 0
	for _, speed := range []float64{0, 4} {
		steps := []assertions.Step{switchedOn(speed), letGo(), stretch(titled("driven", held(1, 0.5)), 100*ms, 300*ms)}
		for _, silent := range []bool{false, true} {
			results := judge("start_at_rest", "power_up", p, func(f *firmware) { f.silentAtStart = silent }, steps...)
			assert.Equal(t, assertions.Pass, assertions.Worst(results), "%+v", results)
		}
		results := judge("start_at_rest", "power_up", p, func(f *firmware) { f.neverWaits = true }, steps...)
		assert.Equal(t, assertions.Fail, assertions.Worst(results), "%+v", results)
	}
}

// A board that starts at idle is at idle while it waits for the throttle, and that is asked of start; one that starts silent
// may be either by then.
func TestWhatABoardCarriesThatWaitsForTheThrottle(t *testing.T) {
	for _, starts := range []law.Outputs{law.OutputsIdle, law.OutputsSilent} {
		for _, silent := range []bool{false, true} {
			p := lossPolicy()
			p.StartState = starts
			results := judge("arms", "power_up", p, func(f *firmware) { f.silentAtStart = silent }, faultCases["arms"]...)
			if starts == law.OutputsIdle && silent {
				require.Len(t, results, 2)
				assert.Equal(t, assertions.Pass, results[0].Verdict)
				assert.Equal(t, assertions.Fail, results[1].Verdict)
				assert.Equal(t, []string{"start"}, results[1].Keys)
				continue
			}
			assert.Equal(t, assertions.Pass, assertions.Worst(results), "starts %v, silent %v: %+v", starts, silent, results)
		}
		assert.Equal(t, starts == law.OutputsIdle, slices.Contains(assertions.KeysAsked("arms", &law.Policy{StartState: starts}), "start"))
	}
	results := judge("arms", "power_up", lossPolicy(), func(f *firmware) { f.neverWaits = true }, faultCases["arms"]...)
	assert.Equal(t, []string{"arms"}, results[0].Keys)
}
