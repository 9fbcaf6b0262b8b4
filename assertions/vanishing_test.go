package assertions_test

import (
	"testing"

	"github.com/stretchr/testify/assert"

	"hilrig/assertions"
	"hilrig/assertions/law"
)

// Where a shift takes every motor that it moves past its limit, and those are not to move at all, none need be there: not
// of such a shift is anything asked that needs one, and of a smaller one it is.
func TestAShiftThatMovesNoMotorIsNotAskedFor(t *testing.T) {
	for _, c := range []struct {
		is    float64 // of the shift, at half the gain
		word  law.AtTheLimit
		asked bool
	}{{0.08, law.LimitPartnerOnly, true}, {0.9, law.LimitPartnerOnly, false}, {0.9, law.LimitMovePartner, true}} {
		for of, step := range map[string]string{"yaw_lost": "lost", "answers_too_little": "before"} {
			e := played(lossPolicy(), nil, faultCases["yaw_lost"]...)
			e.Trace = nil
			e.Policy.ShiftAt.Is, e.Policy.AtTheLimit = c.is, c.word
			plan := assertions.Plan(assertions.PolicyBranch{Of: of, Step: step}, e)
			assert.Equal(t, c.asked, plan[0].Asked, "%s with %v, %v: %+v", of, c.is, c.word, plan)
		}
	}
}
