package assertions

import (
	"math"
	"slices"
	"strings"

	"hilrig/assertions/law"
)

// branch is one situation being judged.
type branch struct {
	e       *Evidence
	p       *law.Policy
	of      string
	s, base *Step
	shown   bool // a shift of which no size is declared is there all the same
	turn    int  // +1 left, -1 right: where the policy leaves open which side is the outside, that of such a turn; 0: it stays open
}

// earlier returns the steps of the case before the judged one.
func (b *branch) earlier() []Step {
	for i := range b.e.Steps {
		if &b.e.Steps[i] == b.s {
			return b.e.Steps[:i]
		}
	}
	return b.e.Steps
}

// lastBefore returns the last earlier step that is accepted, nil where there is none.
func (b *branch) lastBefore(accepts func(s *Step) bool) *Step {
	all := b.earlier()
	for i := len(all) - 1; i >= 0; i-- {
		if accepts(&all[i]) {
			return &all[i]
		}
	}
	return nil
}

// sound says whether nothing is wrong with the wires in a step.
func (s *Step) sound() bool { return len(s.Faults) == 0 }

// title returns the situation in words: "opposite lock".
func (b *branch) title() string { return strings.ReplaceAll(b.of, "_", " ") }

// name returns the name of one of the situation's results.
func (b *branch) name(what string) string { return b.title() + ": " + what }

// oppositeLock plans what the policy asks for under opposite lock.
func (b *branch) oppositeLock() []ask {
	switch b.p.OppositeLock {
	case law.OppositeLockNoShift:
		return b.noShift()
	case law.OppositeLockUndersteer:
		return b.split(b.p.Understeer)
	}
	return b.split(b.p.Oversteer)
}

// misplaced reports a step in which the situation does not arise, so that
// nothing about it can be shown there.
func (b *branch) misplaced() error {
	s, in := b.s, b.s.situation()
	switch {
	case b.p.Demand != nil && slices.Contains([]string{understeering, oversteering, oppositeLock}, b.title()) &&
		in != b.title() && !(in == oppositeLock && b.of == "oversteer"):
		return s.undecided("this step is no %s: the demand is %s deg/s, the yaw rate %s deg/s; mend the step", b.title(), degrees(s.Demand), degrees(s.YawRate))
	case b.of == "demand_side" && in != understeering && in != oversteering:
		return s.undecided("the demand is %s deg/s and the yaw rate %s deg/s in this step; hold a yaw rate to the same side, beside the demand", degrees(s.Demand), degrees(s.YawRate))
	case b.of == "standstill" && math.Abs(s.Speed) >= b.p.Standstill.From:
		return s.undecided("the car goes %s m/s in this step, and only below %s m/s no shift is asked; mend the step", number(s.Speed), number(b.p.Standstill.From))
	case b.of == "reverse" && s.Speed >= 0:
		return s.undecided("the car does not roll backwards in this step; give it a speed below 0 m/s")
	case b.of == "braking" && s.Throttle >= 0:
		return s.undecided("the throttle of %s does not brake; give the step one below 0 %%", share(s.Throttle))
	case b.of == "zero_gain" && s.Gain > 0:
		return s.undecided("the gain stands at %s in this step; give it a gain of 0 %%", share(s.Gain))
	}
	return nil
}

// ignored says whether a shift is looked for although the yaw error lies in
// the policy's dead band.
func (b *branch) ignored() bool {
	looked := slices.Contains([]string{"understeer", "oversteer", "demand_side", "at_the_limit"}, b.of) ||
		b.of == "opposite_lock" && b.p.OppositeLock != law.OppositeLockNoShift
	return looked && b.p.Demand != nil && b.p.DeadBand != nil && math.Abs(b.yawError()) <= *b.p.DeadBand
}

// yawError returns demand less yaw rate in rad/s.
func (b *branch) yawError() float64 { return b.s.Demand - b.s.YawRate }

// What a demand and a yaw rate make together.
const (
	onDemand      = "on demand"
	oppositeLock  = "opposite lock"
	understeering = "understeer"
	oversteering  = "oversteer"
)

// SituationOf names what a demand and a yaw rate in rad/s make together.
func SituationOf(demand, yawRate float64) string {
	switch {
	case demand == yawRate:
		return onDemand
	case demand*yawRate < 0:
		return oppositeLock
	case math.Abs(yawRate) < math.Abs(demand):
		return understeering
	}
	return oversteering
}

// situation names what the demand and the yaw rate of a step make together.
func (s *Step) situation() string { return SituationOf(s.Demand, s.YawRate) }

// leftOut says whether a step lies in a branch that the policy leaves out, so that firmware may shift there as it likes.
func (b *branch) leftOut(s *Step) bool {
	switch in := s.situation(); {
	case b.p.Demand == nil:
		return false
	case in == understeering:
		return b.p.Understeer == nil
	case in == oversteering, in == oppositeLock && (b.p.OppositeLock == law.OppositeLockOversteer || b.p.OppositeLock == law.OppositeLockShare):
		return b.p.Oversteer == nil
	case in == oppositeLock && b.p.OppositeLock == law.OppositeLockUndersteer:
		return b.p.Understeer == nil
	}
	return false
}
