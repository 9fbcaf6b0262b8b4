package assertions

import (
	"math"

	"hilrig/assertions/measure"
)

// deadBand judges a step whose yaw error lies in the policy's dead band, where
// no motor may be shifted, with another step of the case to show that beyond
// it they are; or one whose error lies beyond, where they have to be.
func (b *branch) deadBand() []Result {
	band := *b.p.DeadBand
	if b.p.Demand == nil {
		return []Result{b.notAsked("the policy has no demand that the yaw error could be counted from")}
	}
	if math.Abs(b.yawError()) > band {
		return b.beyondBand(band)
	}
	var beyond *Step
	for i := range b.e.Steps {
		if s := &b.e.Steps[i]; !s.Baseline && s.sound() && splitFor(b.p, s) != nil {
			beyond = s
		}
	}
	results := b.noShift()
	if Worst(results) != Pass {
		return results
	}
	err := b.s.undecided("the case has no step with a yaw error beyond the dead band of %s deg/s that asks for a shift; add one", degrees(band))
	if beyond != nil {
		var shifted measure.Decision
		if shifted, err = b.shifted(beyond); shifted != measure.Outside && err == nil {
			err = beyond.absent(shifted == measure.Inside, "the shift never moved: %q holds an error beyond the dead band, and no motor left its baseline", beyond.Name)
		}
	}
	if err != nil {
		return b.unjudged(err)
	}
	return results
}

// beyondBand judges that the motors of the split move.
func (b *branch) beyondBand(band float64) []Result {
	split := splitFor(b.p, b.s)
	if split == nil {
		return b.unjudged(b.s.undecided("the policy asks for no shift in this step; hold a yaw error with the gain up"))
	}
	if x, ok := b.expected(); ok && x <= clearMultiple*b.e.deadShift() {
		return b.unjudged(b.s.undecided("the yaw error of %s deg/s exceeds the dead band of %s deg/s too little: the policy declares a shift of %s for it; give the step a larger one", degrees(b.yawError()), degrees(band), share(x)))
	}
	return each(moving(split), b.moved)
}
