package assertions_test

import (
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"

	"hilrig/assertions"
	"hilrig/assertions/law"
)

// Where a shift takes every motor that it moves past its limit, and those are not to move at all, none need be there: of
// such a shift nothing is asked that needs one, and after a loss no more than that it is gone. Of a smaller one it is.
func TestAShiftThatMovesNoMotorIsNotAskedFor(t *testing.T) {
	for _, c := range []struct {
		is    float64 // of the shift, at half the gain
		word  law.AtTheLimit
		asked bool
	}{{0.08, law.LimitPartnerOnly, true}, {0.9, law.LimitPartnerOnly, false}, {0.9, law.LimitMovePartner, true}} {
		for of, step := range map[string]string{"yaw_lost": "lost", "bad_checksum": "lost", "answers_too_little": "before"} {
			e := played(lossPolicy(), nil, faultCases["yaw_lost"]...)
			e.Trace = nil
			e.Policy.ShiftAt.Is, e.Policy.AtTheLimit = c.is, c.word
			plan := assertions.Plan(assertions.PolicyBranch{Of: of, Step: step}, e)
			assert.Equal(t, c.asked, plan[0].Asked && !strings.HasSuffix(plan[0].Name, ", if there was one"), "%s with %v, %v: %+v", of, c.is, c.word, plan)
		}
	}
}

// A bad pulse of the throttle moves the motors whether there is a shift or not: it is asked about where a shift may move none,
// and one of the steering is not.
func TestABadPulseOfTheThrottleNeedsNoShift(t *testing.T) {
	for wire, asked := range map[string]bool{"throttle": true, "steer": false} {
		steps := slices.Clone(faultCases["bad_pulse"])
		judged := &steps[len(steps)-1]
		judged.Faults = slices.Clone(judged.Faults)
		judged.Faults[0].Wire = wire
		e := played(lossPolicy(), nil, steps...)
		e.Policy.ShiftAt.Is, e.Policy.AtTheLimit = 0.9, law.LimitPartnerOnly
		unplayed := *e
		unplayed.Trace = nil
		plan := assertions.Plan(assertions.PolicyBranch{Of: "bad_pulse", Step: judged.Name}, &unplayed)
		assert.Equal(t, asked, plan[0].Asked, "%s: %+v", wire, plan)
	}
	for believes, want := range map[bool]assertions.Verdict{false: assertions.Pass, true: assertions.Fail} {
		steps := slices.Clone(faultCases["bad_pulse"])
		for i := range steps {
			steps[i].Gain = 0
		}
		e := played(lossPolicy(), func(f *firmware) { f.believesPulse = believes }, steps...)
		r := assertions.Judge(assertions.PolicyBranch{Of: "bad_pulse", Step: steps[len(steps)-1].Name}, e)
		assert.Equal(t, want, r[0].Verdict, "%+v", r)
	}
}
