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
	beyond, held := b.beyondBand(band)
	if beyond == nil {
		if held != nil {
			return append(b.noShift(), notAsking(b.name("a shift beyond it, in "+held.Name), "the policy asks no motor for a clear shift there, by its tolerances"))
		}
		if b.p.Understeer == nil || b.p.Oversteer == nil {
			return b.notAsked("the policy does not have both understeer and oversteer, and no step of the case asks for a shift without")
		}
		return b.unshown(b.s.undecided("the case has no step with a yaw error beyond the dead band of %s deg/s that asks for a shift; add one", degrees(band)))
	}
	name := b.name("a shift beyond it, in " + beyond.Name)
	return append(b.noShift(), asking(name, func(b *branch) Result { return b.shiftSeen(name, beyond) }))
}

// beyondBand returns the last step of the case in which the law asks for a clear shift, and the last
// in which the yaw error lies beyond the band with the gain up; nil where there is none.
func (b *branch) beyondBand(band float64) (asks, held *Step) {
	for i := range b.e.Steps {
		s := &b.e.Steps[i]
		if s.Baseline || !s.sound() {
			continue
		}
		if b.asksClearly(s) {
			asks = s
		}
		if s.Gain > 0 && math.Abs(s.Demand-s.YawRate) > band {
			held = s
		}
	}
	return asks, held
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
		b.e.remedy(most, limit, shorter(s, b.base), percent, " %"))
}
