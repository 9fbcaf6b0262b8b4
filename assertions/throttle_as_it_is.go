package assertions

import (
	"fmt"

	"hilrig/assertions/law"
)

// throttleAsItIs asks of a step without gain whether each motor is commanded the throttle, where the policy
// has no curve between the two: within cap and floor, give or take what motors may stand apart and what counts as none.
func (b *branch) throttleAsItIs() []ask {
	if b.p.ThrottleCurve != law.ThrottleCurveNone {
		return b.notAsked("the policy's throttle_curve does not say what is commanded at a throttle")
	}
	if b.s.Gain > 0 {
		return b.unshown(b.s.undecided("the gain stands at %s in this step, and a shift would hide the throttle; give it a gain of 0 %%", share(b.s.Gain)))
	}
	if b.spins() {
		return b.notAsked("a wheel goes so much faster than the slowest that the policy's traction_control may cut its motor")
	}
	in := b.e.meant(b.s)
	l := b.e.firmware(*b.p).law
	in.Unshifted, _ = l.FromThrottle(in.Throttle)
	answer := l.At(&in)
	return asks(b.sides(nil), func(m side) ask {
		name := b.name(string(m.corner) + " as the throttle")
		w, _ := m.corner.Wheel(b.s.Turn(b.p))
		t := b.e.deadShift()
		limit := between(answer.Commands[w].Low-t, answer.Commands[w].High+t)
		return asking(name, func(b *branch) Result {
			est, err := b.e.mean(w, b.s)
			r := found(name, "mean command of "+called(m.corner, w), est, err, limit, b.s)
			return r.explained(fmt.Sprintf("%s is commanded %s ± %s at a throttle of %s; with no shift the policy has the command be the throttle", called(m.corner, w), share(est.Value), share(est.Expanded()), share(b.s.Throttle)),
				b.e.remedy(est, limit, b.s.To-b.s.From, percent, " %"))
		})
	})
}
