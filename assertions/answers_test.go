package assertions_test

import (
	"testing"

	"github.com/stretchr/testify/assert"

	"hilrig/assertions"
	"hilrig/assertions/law"
)

// A board answers where its commands rise with the throttle, and where a yaw error moves a motor.
func TestABoardAnswers(t *testing.T) {
	throttle := assertions.PolicyBranch{Of: "answers_throttle", Step: "driving"}
	little := assertions.PolicyBranch{Of: "answers_too_little", Step: "hold"}
	steps := func() []assertions.Step {
		idle, driving := at("idle", 1), at("driving", 1)
		idle.Throttle, driving.Throttle = 0, 0.2
		return []assertions.Step{base(), idle, driving, at("hold", 0.4)}
	}
	for _, row := range []struct {
		name           string
		change         func(*firmware)
		throttle, turn assertions.Verdict
	}{
		{"healthy", nil, assertions.Pass, assertions.Pass},
		{"passes the throttle on and no more", equalBoard, assertions.Pass, assertions.Fail},
	} {
		tp := tape{firmware: newFirmware(lossPolicy(), row.change)}
		e := tp.play(steps()...)
		assert.Equal(t, row.throttle, assertions.Worst(assertions.Judge(throttle, e)), row.name)
		assert.Equal(t, row.turn, assertions.Worst(assertions.Judge(little, e)), row.name)
		assert.Len(t, assertions.Judge(throttle, e), 4, "each motor by itself")
	}
}

// The branch that a policy knows shows that the board answers: too much yaw only where it knows
// nothing of too little.
func TestTheBranchThatIsKnownIsAsked(t *testing.T) {
	split := &law.Split{Raise: []law.Corner{law.OutsideRear}}
	for _, row := range []struct {
		p            law.Policy
		little, much bool
	}{
		{law.Policy{}, false, false},
		{law.Policy{Understeer: split}, true, false},
		{law.Policy{Oversteer: split}, false, true},
		{law.Policy{Understeer: split, Oversteer: split}, true, false},
	} {
		e := &assertions.Evidence{Policy: &row.p, Steps: []assertions.Step{{Name: "baseline", Baseline: true}, {Name: "hold", Steer: 0.1}}}
		assert.Equal(t, row.little, assertions.Plan(assertions.PolicyBranch{Of: "answers_too_little"}, e)[0].Asked)
		assert.Equal(t, row.much, assertions.Plan(assertions.PolicyBranch{Of: "answers_too_much"}, e)[0].Asked)
	}
}
