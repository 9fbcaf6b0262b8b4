package assertions

import (
	"cmp"
	"slices"

	"hilrig/assertions/law"
	"hilrig/plant"
)

// Part is something that a policy has below one of its keys and that no check can ask, since the size of the shift is not declared in
// proportion to the yaw error. The rest of the key is asked all the same.
type Part struct {
	Key string // of the policy
	Of  string // what of it: a key below it, or a word that it has
	Why string // a sentence
}

// PartsNotAsked lists what of a policy's keys is not asked of any board: of the split first, then of its limits, then of losses. It goes
// by the policy alone, and is empty where the shift is declared in proportion to the yaw error.
func PartsNotAsked(p *law.Policy) (parts []Part) {
	if p == nil || sized(p) {
		return nil
	}
	for i := range unsized {
		u := &unsized[i]
		if of := u.of(p); of != "" {
			parts = append(parts, Part{u.key, of, u.why(p)})
		}
	}
	return parts
}

// noSize says why no size is asked, and what is instead.
func noSize(p *law.Policy) string {
	at := p.ShiftAt
	switch {
	case at == nil || at.Grows != law.GrowthSaturating && at.Grows != law.GrowthIntegrating:
		return "the policy declares no size of the shift, and none is asked"
	case at.Grows == law.GrowthSaturating:
		return "of a shift that grows less and less no size is asked but the largest that it may have"
	case at.Most > 0:
		return "of a shift that grows with time no size is asked but its bound"
	}
	return "of a shift that grows with time no size is asked"
}

// unsizedPart is a part of a policy that says something of a shift's size.
type unsizedPart struct {
	key           string
	of            func(p *law.Policy) string // what of it the policy has; "": nothing that is not asked
	before, after string                     // what is said before and after why no size is asked
}

// why says why it is not asked. Of a policy without a demand nothing of a shift is, so that there is nothing to say beside that.
func (u *unsizedPart) why(p *law.Policy) string {
	switch {
	case p.Demand == nil:
		return u.before + noSize(p)
	case u.before == othersThen && scaledTogether(p):
		return u.before + noSize(p) + ", and that the sum is kept"
	case u.key == "understeer" && ratioAsked(p, p.Understeer), u.key == "oversteer" && ratioAsked(p, p.Oversteer):
		return u.before + noSize(p) + ", and of front and rear only their ratio"
	}
	return u.before + noSize(p) + u.after
}

// What is said of several parts.
const (
	onlyThere  = ", only that there is a shift from there on"
	othersThen = "how far the other motors go then: "
	byShares   = "the other of mirrored and as_forward differs by front and rear alone: "
	whenSwung  = "how far ahead a shift with a memory swings tells nothing of what it goes by: "
	drivesOn   = "that the motors drive on is asked, and not that the shift does: "
)

// unsized are all such parts, in the order of the policy's keys.
var unsized = slices.Concat([]unsizedPart{
	{"demand", has("steer_rate", func(p *law.Policy) bool { return p.MayIntegrate() && needSteerRate.held(p) }), whenSwung, ""},
	{"opposite_lock", has("share", func(p *law.Policy) bool { return p.OppositeLock == law.OppositeLockShare }), "", ""},
	{"understeer", has("front", func(p *law.Policy) bool { return p.Understeer != nil && p.Understeer.Front > 0 }), "", ""},
	{"understeer", has("rear", func(p *law.Policy) bool { return p.Understeer != nil && p.Understeer.Rear > 0 }), "", ""},
	{"oversteer", has("front", func(p *law.Policy) bool { return p.Oversteer != nil && p.Oversteer.Front > 0 }), "", ""},
	{"oversteer", has("rear", func(p *law.Policy) bool { return p.Oversteer != nil && p.Oversteer.Rear > 0 }), "", ""},
	{"shift_at", has("gain", grows), "", ", so that it need not follow the trim, but is none at 0 %"},
	{"shift_at", has("is", grows), "", ", only that there is a shift where this would surely be one"},
	{"shift_at", has("within", grows), "", ""},
	{"shift_at", has("derivative_time", func(p *law.Policy) bool { return p.MayIntegrate() && needDerivative.held(p) }), whenSwung, ""},
	{"straight", has("full_from", func(p *law.Policy) bool { return p.Straight != nil && comesIn(p.Straight.Steer) }), "", onlyThere},
	{"straight", has("demand_full_from", func(p *law.Policy) bool { return p.Straight != nil && comesIn(p.Straight.Demand) }), "", onlyThere},
	{"gain_steps", has("the steps above 0 %", severalSteps), "", ", so that one of them is not told from another"},
	{"at_the_limit", wordAtTheLimit, othersThen, ""},
	{"at_the_cap", func(p *law.Policy) string { return p.AtTheCap.String() }, othersThen, ""},
	{"at_the_floor", func(p *law.Policy) string { return p.AtTheFloor.String() }, othersThen, ""},
	{"standstill", has("full_from", func(p *law.Policy) bool { return comesIn(p.Standstill) }), "", onlyThere},
	{"reverse", wordInReverse, byShares, ""},
	{"gain_lost", has("value", takesGain), "", ", so that no other gain is told from it but 0 %"},
}, goingOn())

// has returns the name of a part where a policy has it.
func has(part string, holds func(p *law.Policy) bool) func(p *law.Policy) string {
	return func(p *law.Policy) string {
		if holds(p) {
			return part
		}
		return ""
	}
}

// grows says whether a policy declares a shift of which it also says how it grows.
func grows(p *law.Policy) bool { return p.ShiftAt != nil }

// comesIn says whether a shift comes in over a range.
func comesIn(f *law.Fade) bool { return f != nil && f.Full > f.From }

// severalSteps says whether the trim is a switch with several positions that ask for a shift.
func severalSteps(p *law.Policy) bool {
	n := len(p.GainSteps)
	return n > 2 || n == 2 && p.GainSteps[0] > 0
}

// takesGain says whether after a loss of the trim the policy has the board take a gain at which there is a shift.
func takesGain(p *law.Policy) bool {
	l := p.GainLost
	return l != nil && l.Then == law.LossValue && p.LeastGain(l.Value) > 0
}

// wordAtTheLimit returns the policy's general word for motors at a limit where there is one for which no other holds.
func wordAtTheLimit(p *law.Policy) string {
	if p.AtTheCap != 0 && p.AtTheFloor != 0 {
		return ""
	}
	return p.AtTheLimit.String()
}

// scaledTogether says whether by a policy all shifts are made smaller by one factor at either limit, so that they keep the sum as they do with room.
func scaledTogether(p *law.Policy) bool {
	atCap, atFloor := cmp.Or(p.AtTheCap, p.AtTheLimit), cmp.Or(p.AtTheFloor, p.AtTheLimit)
	return p.SumKept && p.SumCap == nil && p.Cap != nil && p.Floor != nil && atCap == law.LimitScale && atFloor == law.LimitScale
}

// wordInReverse returns the policy's word for rolling backwards where front and rear exchanged has the same motors go the same way, and by
// other shares alone.
func wordInReverse(p *law.Policy) string {
	differs := false
	for _, s := range []*law.Split{p.Understeer, p.Oversteer} {
		if s == nil {
			continue
		}
		if !sameCorners(s.Raise, endForEnd(s.Raise)) || !sameCorners(s.Lower, endForEnd(s.Lower)) {
			return ""
		}
		differs = differs || s.ShareOf(plant.FrontLeft) != s.ShareOf(plant.RearLeft)
	}
	if !differs || p.Reverse == law.ReverseNoShift || ratioAsked(p, p.Understeer, p.Oversteer) {
		return ""
	}
	return p.Reverse.String()
}

// ratioAsked says whether of some split the front and rear motors of a sense are asked to move by their shares.
func ratioAsked(p *law.Policy, splits ...*law.Split) bool {
	return p.Integrates() && p.ShiftAt.Most > 0 && p.ShiftAt.Within < 1 && slices.ContainsFunc(splits, func(s *law.Split) bool {
		return s != nil && !s.Varies && len(pairsOf(s)) > 0
	})
}

// sameCorners says whether two lists hold the same corners in any order.
func sameCorners(a, b []law.Corner) bool {
	return slices.Equal(slices.Sorted(slices.Values(a)), slices.Sorted(slices.Values(b)))
}

// goingOn are the losses after which the policy has the board drive on as if nothing were lost: a shift that grows with time may as well
// be none.
func goingOn() (parts []unsizedPart) {
	for i := range lossKinds {
		k := &lossKinds[i]
		if k.key == "throttle_lost" {
			continue
		}
		parts = append(parts, unsizedPart{k.key, func(p *law.Policy) string {
			if l := k.of(p); l != nil && p.MayIntegrate() && goesOn(l) {
				return l.Then.String()
			}
			return ""
		}, drivesOn, ""})
	}
	return parts
}
