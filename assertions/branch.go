package assertions

import (
	"fmt"
	"math"
	"strings"
)

// branch is one situation being judged.
type branch struct {
	e       *Evidence
	p       *Policy
	of      string
	s, base *Step
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

func (b *branch) notAsked(why string) Result {
	r := Result{Name: b.title(), Verdict: NotAsked, Why: why}
	if b.s != nil {
		r.Step, r.At = b.s.Name, b.s.From
	}
	return r
}

// oppositeLock judges what the policy asks for under opposite lock.
func (b *branch) oppositeLock() []Result {
	if b.p.OppositeLock == OppositeLockOversteer {
		return b.split(b.p.Oversteer)
	}
	return b.noShift()
}

// misplaced reports a step in which the situation does not arise, so that
// nothing about it can be shown there.
func (b *branch) misplaced() error {
	s, why := b.s, ""
	rates := func(what string) string {
		return fmt.Sprintf("this step is no %s: the demand is %s deg/s, the yaw rate %s deg/s; mend the step", what, degrees(s.Demand), degrees(s.YawRate))
	}
	opposite := s.Demand*s.YawRate < 0
	known := b.p.Demand != nil
	switch {
	case b.of == "understeer" && known && (opposite || math.Abs(s.YawRate) >= math.Abs(s.Demand)):
		why = rates("understeer")
	case b.of == "oversteer" && known && !opposite && math.Abs(s.YawRate) <= math.Abs(s.Demand):
		why = rates("oversteer")
	case b.of == "opposite_lock" && known && !opposite:
		why = rates("opposite lock")
	case b.of == "standstill" && math.Abs(s.Speed) >= *b.p.Standstill:
		why = fmt.Sprintf("the car goes %s m/s in this step, and only below %s m/s no shift is asked; mend the step", number(s.Speed), number(*b.p.Standstill))
	case b.ignored():
		why = fmt.Sprintf("the yaw error of %s deg/s lies in the policy's dead band of %s deg/s; give the step a larger one", degrees(b.yawError()), degrees(*b.p.DeadBand))
	}
	if why == "" {
		return nil
	}
	return s.undecided("%s", why)
}

// ignored says whether a shift is looked for although the yaw error lies in
// the policy's dead band.
func (b *branch) ignored() bool {
	switch b.of {
	case "understeer", "oversteer", "at_the_limit":
	case "opposite_lock":
		if b.p.OppositeLock != OppositeLockOversteer {
			return false
		}
	default:
		return false
	}
	return b.p.Demand != nil && b.p.DeadBand != nil && math.Abs(b.yawError()) <= *b.p.DeadBand
}

// yawError returns demand less yaw rate in rad/s.
func (b *branch) yawError() float64 { return b.s.Demand - b.s.YawRate }

// SituationOf names what a demand and a yaw rate in rad/s make together.
func SituationOf(demand, yawRate float64) string {
	switch {
	case demand == yawRate:
		return "on demand"
	case demand*yawRate < 0:
		return "opposite lock"
	case math.Abs(yawRate) < math.Abs(demand):
		return "understeer"
	}
	return "oversteer"
}
