package assertions

import "hilrig/assertions/law"

// PolicyBranch checks what the policy declares for one situation. Of is one of
// Situations.
type PolicyBranch struct {
	Of   string
	Step string // the empty name means the last step
}

// Sense says which way a motor should have moved from its baseline.
type Sense string

// The senses.
const (
	Raised    Sense = "raised"
	Lowered   Sense = "lowered"
	Unchanged Sense = "unchanged"
)

// Shifted checks that each of Motors moved from its baseline in the sense Is.
type Shifted struct {
	Motors []law.Corner
	Is     Sense
	Step   string
}

// SumKept checks that the sum of the four commands in Step is that of the
// baseline, within Within of the range of one motor (0 stands for the policy's dead shift).
type SumKept struct {
	Within float64
	Step   string
}

// InRange checks that every frame of each of Motors in the step's window lies
// in Low..High, shares of range.
type InRange struct {
	Motors    []law.Corner
	Low, High float64
	Step      string
}

// Equal checks that the means of Motors stand within Within of each other, a
// share of range.
type Equal struct {
	Motors []law.Corner
	Within float64
	Step   string
}

// Mirrored checks that step A and step B, mirror images of each other, shift
// the motors alike, place in the turn by place in the turn, within Within of
// the range (0 stands for the policy's dead shift).
type Mirrored struct {
	A, B   string
	Within float64
}

// Scaled checks that the shift of each of Motors in Step is Times that in Of,
// within the share Within of it.
type Scaled struct {
	Motors []law.Corner
	Step   string
	Of     string
	Times  float64
	Within float64
}

// Proportional checks that the shifts of each of Motors over Steps lie on a
// straight line through the origin, the yaw error times the gain along it: the
// one farthest off stands within the share Within of the largest shift from it
// (0 stands for the policy's dead shift). The steps hold at least three different errors, all in one
// branch of the split.
type Proportional struct {
	Motors []law.Corner
	Steps  []string
	Within float64
}

// Monotone checks that the mean of each of Motors never falls from one of Steps
// to the next (or, where Rising is false, never rises) by as much as the
// policy's dead shift, and rises (falls) by more than that over all of them.
type Monotone struct {
	Motors []law.Corner
	Steps  []string
	Rising bool
}

// NoJump checks that no command of Motors in the step's window differs from the
// one before by more than Most, a share of range.
type NoJump struct {
	Motors []law.Corner
	Most   float64
	Step   string
}
