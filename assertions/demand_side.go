package assertions

import (
	"fmt"
	"math"
)

// demandSide asks of a shift that gathers with time on which side of the yaw rate the board's demand lies: while the car turns
// less than asked the shift of understeer has to gather, while it turns more that of oversteer. The nearer the yaw rate is to the
// demand, the closer the board's demand is told. Where a shift that gathers changes its sense in a sweep says nothing of the
// demand; any other shift tells it there, and closer.
func (b *branch) demandSide() []ask {
	split, key := b.p.Understeer, "understeer"
	if b.s.situation() == oversteering {
		split, key = b.p.Oversteer, "oversteer"
	}
	if split == nil {
		return b.notAsked("the policy has no " + key)
	}
	if !b.gathered() {
		return b.notAsked(fmt.Sprintf("by the policy's tolerances the board's demand may lie so near to %s deg/s that its shift does not surely gather in %s to more than what counts as none",
			degrees(b.s.YawRate), (b.s.From - b.s.Applied).Short()))
	}
	return b.split(split)
}

// leastShare returns what share of the yaw error, the dead band left out, is there for sure: firmware that keeps the policy may
// take the demand for anything that its tolerance allows.
func (b *branch) leastShare() float64 {
	_, allowed := b.demandAllowed()
	least := max(allowed.Low-b.s.YawRate, b.s.YawRate-allowed.High, 0)
	whole := math.Abs(b.acting(b.yawError()))
	if !(whole > 0) {
		return 0
	}
	return min(b.acting(least)/whole, 1)
}
