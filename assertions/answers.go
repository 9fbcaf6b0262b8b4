package assertions

import (
	"fmt"
	"math"

	"hilrig/assertions/law"
	"hilrig/assertions/measure"
	"hilrig/plant"
)

// answersThrottle asks of a step with more throttle than an earlier one that every motor's
// command rises with it, by more than what counts as none. How far is nobody's matter here: a
// throttle curve may bend it.
func (b *branch) answersThrottle() []ask {
	lower := b.lastBefore(func(s *Step) bool { return s.sound() && s.Throttle < b.s.Throttle })
	var err error
	if lower == nil {
		err = b.s.undecided("no step before this one has less throttle; add one")
	}
	return asks(plant.Wheels[:], func(w plant.Wheel) ask {
		name := b.name(w.String() + " rises")
		return asking(name, func(b *branch) Result { return b.rises(name, w, lower) }).orUnshown(err)
	})
}

// rises judges whether a motor's mean command is higher than in an earlier step. Where it sends
// nothing there, which a board at idle may do, it counts from idle.
func (b *branch) rises(name string, w plant.Wheel, lower *Step) Result {
	in := readings{e: b.e}
	now := in.mean(w, b.s)
	before := measure.Estimate{}
	if b.e.Trace != nil && len(b.e.frames(w, lower)) > 0 {
		before = in.mean(w, lower)
	}
	limit := AtLeast(b.e.deadShift())
	rise := measure.Difference(now, before)
	r := found(name, "rise of "+w.String(), rise, in.err, limit, b.s)
	return r.explained(fmt.Sprintf("%s went from %s to %s as the throttle went from %s to %s: the board does not answer the throttle; look at its receiver, its arming and its power",
		w, share(before.Value), share(now.Value), share(lower.Throttle), share(b.s.Throttle)), b.e.remedy(rise, limit, shorter(b.s, lower), percent, " %"))
}

// answersYaw asks of a step with a yaw error that any motor left its baseline.
func (b *branch) answersYaw() []ask {
	if why := b.vanishes(b.s); why != "" {
		return b.notAsked(why)
	}
	name := b.name("torque is shifted")
	return []ask{asking(name, func(b *branch) Result {
		var most measure.Estimate
		in := readings{e: b.e}
		for _, w := range plant.Wheels {
			if shift := in.shiftBeyond(w, b.s, b.base); math.Abs(shift.Value) >= most.Value {
				shift.Value = math.Abs(shift.Value)
				most = shift
			}
		}
		limit := AtLeast(b.e.deadShift())
		r := found(name, "largest shift of a motor", most, in.err, limit, b.s)
		return r.explained(fmt.Sprintf("no motor left its baseline by more than %s ± %s of range with the gain at %s and a steer angle of %s deg at %s deg/s of yaw: the board answers no yaw error",
			share(most.Value), share(most.Expanded()), share(b.s.Gain), degrees(b.s.Steer), degrees(b.s.YawRate)), b.e.remedy(most, limit, shorter(b.s, b.base), percent, " %"))
	})}
}

// The needs of signs of life.
var (
	needUndersteer    = need{"understeer", func(p *law.Policy) bool { return p.Understeer != nil }}
	needOversteerOnly = need{"oversteer alone; understeer shows that the board answers", func(p *law.Policy) bool { return p.Oversteer != nil && p.Understeer == nil }}
)
