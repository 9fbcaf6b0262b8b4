package assertions

import (
	"fmt"
	"math"
	"slices"
)

// Judge returns the results of the situation c.Of, each named after it:
// "understeer: outside_rear raised". Where the policy says nothing about it,
// that is one result, not asked.
func (c PolicyBranch) Judge(e *Evidence) []Result {
	p := e.policy()
	if !slices.Contains(Situations, c.Of) {
		return []Result{{Name: c.Of, Verdict: Undecided, Why: fmt.Sprintf("%q is no situation; use one of %v", c.Of, Situations)}}
	}
	b := branch{e: e, p: p, of: c.Of}
	if key := p.leavesOut(c.Of); key != "" {
		return []Result{b.notAsked("the policy has no " + key)}
	}
	if c.Of == "cap" || c.Of == "floor" {
		var out blocked
		if b.s, out = e.step(c.Step); out.is() {
			return []Result{out.result(b.title())}
		}
		if c.Of == "cap" {
			return b.cap()
		}
		return b.floor()
	}
	var out blocked
	if b.s, b.base, out = e.stepAndBaseline(c.Step); out.is() {
		return []Result{out.result(b.title())}
	}
	if out = b.misplaced(); out.is() {
		return []Result{out.result(b.title())}
	}
	switch c.Of {
	case "understeer":
		return b.split(p.Understeer)
	case "oversteer":
		return b.split(p.Oversteer)
	case "opposite_lock":
		if p.OppositeLock == OppositeLockOversteer {
			return b.split(p.Oversteer)
		}
	case "at_the_limit":
		return b.atTheLimit()
	}
	return b.noShift()
}

// leavesOut returns the key without which the policy says nothing about a
// situation, or "" where it has all that it takes.
func (p *Policy) leavesOut(of string) string {
	switch {
	case of == "understeer" && p.Understeer == nil:
		return "understeer"
	case of == "oversteer" && p.Oversteer == nil:
		return "oversteer"
	case of == "opposite_lock" && p.OppositeLock == "":
		return "opposite_lock"
	case of == "opposite_lock" && p.OppositeLock == OppositeLockOversteer && p.Oversteer == nil:
		return "oversteer"
	case of == "cap" && p.Cap == nil:
		return "cap"
	case of == "floor" && p.Floor == nil:
		return "floor"
	case of == "standstill" && p.Standstill == nil:
		return "standstill"
	case of == "reverse" && p.Reverse == "":
		return "reverse"
	case of == "at_the_limit" && p.AtTheLimit == "":
		return "at_the_limit"
	case of == "at_the_limit" && (p.ShiftAt == nil || p.Demand == nil):
		return "shift_at and demand, which say how far the motors should go"
	}
	return ""
}

// branch is one situation being judged.
type branch struct {
	e       *Evidence
	p       *Policy
	of      string
	s, base *Step
}

// title returns the situation in words: "opposite lock".
func (b *branch) title() string {
	words := []byte(b.of)
	for i, c := range words {
		if c == '_' {
			words[i] = ' '
		}
	}
	return string(words)
}

// name returns the name of one of the situation's results.
func (b *branch) name(what string) string { return b.title() + ": " + what }

func (b *branch) notAsked(why string) Result {
	r := Result{Name: b.title(), Verdict: NotAsked, Why: why}
	if b.s != nil {
		r.Step, r.At = b.s.Name, b.s.From
	}
	return r
}

// misplaced reports a step in which the situation does not arise, so that
// nothing about it can be shown there.
func (b *branch) misplaced() blocked {
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
		return blocked{}
	}
	return blocked{Undecided, why, s.From, s.Name}
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
