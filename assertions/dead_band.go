package assertions

import (
	"fmt"
	"math"

	"hilrig/assertions/measure"
	"hilrig/plant"
)

// deadBand asks of a step whose yaw error lies in the policy's dead band, where
// no motor may be shifted, with another step of the case to show that beyond
// it they are; or one whose error lies beyond, where they have to be.
func (b *branch) deadBand() []ask {
	band := *b.p.DeadBand
	if b.p.Demand == nil {
		return b.notAsked("the policy has no demand that the yaw error could be counted from")
	}
	if math.Abs(b.yawError()) > band {
		split := splitFor(b.p, b.s)
		if split == nil {
			return b.notAsked("the policy asks for no shift in this step, or not surely for one branch; hold a larger yaw error with the gain up")
		}
		return b.split(split)
	}
	var beyond *Step
	for i := range b.e.Steps {
		if s := &b.e.Steps[i]; !s.Baseline && s.sound() && b.asksClearly(s) {
			beyond = s
		}
	}
	if beyond == nil {
		if b.p.Understeer == nil || b.p.Oversteer == nil {
			return b.notAsked("the policy does not have both understeer and oversteer, and no step of the case asks for a shift without")
		}
		return b.unshown(b.s.undecided("the case has no step with a yaw error beyond the dead band of %s deg/s that asks for a shift; add one", degrees(band)))
	}
	name := b.name("a shift beyond it, in " + beyond.Name)
	return append(b.noShift(), asking(name, func(b *branch) Result { return b.shiftSeen(name, beyond) }))
}

// shiftSeen judges whether some motor clearly left its baseline in a step, by the one that
// went farthest.
func (b *branch) shiftSeen(name string, s *Step) Result {
	in := readings{e: b.e}
	var most measure.Estimate
	at := plant.FrontLeft
	for i, w := range plant.Wheels {
		est := in.shiftBeyond(w, s, b.base)
		est.Value = math.Abs(est.Value)
		if i == 0 || !(est.Value <= most.Value) {
			most, at = est, w
		}
	}
	limit := AtLeast(b.e.deadShift())
	r := found(name, "largest shift, of "+at.String(), most, in.err, limit, s)
	return r.explained(fmt.Sprintf("the shift never moved: no motor left its baseline in %q by more than %s ± %s, and less than %s counts as none", s.Name, share(most.Value), share(most.Expanded()), share(limit.Low)),
		remedy(most, limit, shorter(s, b.base), percent, " %"))
}
