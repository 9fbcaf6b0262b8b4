package assertions

import (
	"fmt"

	"hilrig/assertions/law"
)

// vanishes says why by the policy a firmware may shift no motor in a step although it asks for a shift: one that takes raised
// motors past the cap and lowered ones past the floor at once moves none where the limited ones are not to move at all.
// It is "" where the policy does not have that word at both limits, or some motor surely moves. It goes by the steps as they are meant,
// and by the throttle where the policy does not say what the firmware makes of it.
func (b *branch) vanishes(s *Step) string {
	if b.base == nil || b.p.Demand == nil || !b.partnerOnly(b.p.AtTheCap) || !b.partnerOnly(b.p.AtTheFloor) {
		return ""
	}
	at := *b
	at.s, at.shown = s, true
	stand := b.standing()
	if !b.e.curveKnown() {
		stand = [4]float64{b.base.Throttle, b.base.Throttle, b.base.Throttle, b.base.Throttle}
	}
	d := at.declaredFrom(s, stand, b.e.asMeant)
	if d.missing != "" || d.open&^law.OfSize != 0 || d.widest() == 0 {
		return ""
	}
	for _, i := range d.shifts {
		if i.Low > 0 || i.High < 0 {
			return ""
		}
	}
	return fmt.Sprintf("a shift that takes raised motors past the cap and lowered ones past the floor at once moves none by the policy's partner_only, and in %q it may; play a lower gain or a smaller yaw error", s.Name)
}

// partnerOnly says whether motors that are limited do not move at all, own being the policy's word for that limit alone.
func (b *branch) partnerOnly(own law.AtTheLimit) bool {
	return own == law.LimitPartnerOnly || own == 0 && b.p.AtTheLimit == law.LimitPartnerOnly
}

// shiftBeforeVanishes says why no shift need be there in the last step before this one with nothing wrong with the wires.
func (b *branch) shiftBeforeVanishes() string {
	before := b.lastBefore(func(s *Step) bool { return s.sound() && !s.Baseline && s != b.base })
	if before == nil {
		return ""
	}
	return b.vanishes(before)
}

// shiftOrNone is the positive control of what asks for a shift to go away, or to stay as it is, where none need be there: there is
// none. Of a board that shifts nothing there nothing is shown, and it keeps the policy.
func (b *branch) shiftOrNone() error { return nil }
