package assertions

import (
	"cmp"
	"fmt"
	"maps"
	"slices"
)

// situation judges what the policy declares for one situation in step s. It is
// called only where the policy has the keys that the situation takes.
type situation func(e *Evidence, s *Step) []Result

// situations are the words for PolicyBranch.Of with what judges each. A new one
// is a line here, its key in leavesOut, and its function in a file of its own.
var situations = map[string]situation{
	"understeer":    shifting("understeer", func(b *branch) []Result { return b.split(b.p.Understeer) }),
	"oversteer":     shifting("oversteer", func(b *branch) []Result { return b.split(b.p.Oversteer) }),
	"on_demand":     shifting("on_demand", (*branch).noShift),
	"opposite_lock": shifting("opposite_lock", (*branch).oppositeLock),
	"zero_gain":     shifting("zero_gain", (*branch).noShift),
	"standstill":    shifting("standstill", (*branch).noShift),
	"reverse":       shifting("reverse", (*branch).noShift),
	"at_the_limit":  shifting("at_the_limit", (*branch).atTheLimit),
	"cap":           ranging("cap", (*branch).cap),
	"floor":         ranging("floor", (*branch).floor),
	"loop_rate":     loopRate,
	"response":      response,
}

// branches are the situations of the split itself, in the order of Situations.
var branches = []string{"understeer", "oversteer", "on_demand", "opposite_lock", "zero_gain", "standstill", "reverse", "cap", "floor", "at_the_limit"}

// Situations lists the words for PolicyBranch.Of: those of the split itself
// first, then the others by the alphabet. For understeer and
// oversteer the motors that the policy raises have to be raised, those it
// lowers lowered, the others unchanged; and where it declares them, the sum
// kept and the size of the shift as declared. on_demand, zero_gain, standstill
// and reverse ask for no shift; opposite_lock for what the policy's
// opposite_lock says; cap and floor for each command within the cap or above
// the floor; at_the_limit for how the branch behaves there.
var Situations = slices.SortedFunc(maps.Keys(situations), func(a, b string) int {
	rank := func(of string) int {
		if i := slices.Index(branches, of); i >= 0 {
			return i
		}
		return len(branches)
	}
	return cmp.Or(rank(a)-rank(b), cmp.Compare(a, b))
})

// Judge returns the results of the situation c.Of, each named after it:
// "understeer: outside_rear raised". Where the policy says nothing about it,
// that is one result, not asked.
func (c PolicyBranch) Judge(e *Evidence) []Result {
	judge, known := situations[c.Of]
	if !known {
		return []Result{{Name: c.Of, Verdict: Undecided, Why: fmt.Sprintf("%q is no situation; use one of %v", c.Of, Situations)}}
	}
	b := branch{e: e, p: e.policy(), of: c.Of}
	if key := b.p.leavesOut(c.Of); key != "" {
		return []Result{b.notAsked("the policy has no " + key)}
	}
	s, out := e.step(c.Step)
	if out.is() {
		return []Result{out.result(b.title())}
	}
	return judge(e, s)
}

// shifting returns the situation of that name that is judged by shifts from
// the baseline.
func shifting(of string, judge func(*branch) []Result) situation {
	return func(e *Evidence, s *Step) []Result {
		b := branch{e: e, p: e.policy(), of: of, s: s}
		var out blocked
		if b.base, out = e.baselineOf(s); out.is() {
			return []Result{out.result(b.title())}
		}
		if out = b.misplaced(); out.is() {
			return []Result{out.result(b.title())}
		}
		return judge(&b)
	}
}

// ranging returns the situation of that name that is judged by the commands
// themselves.
func ranging(of string, judge func(*branch) []Result) situation {
	return func(e *Evidence, s *Step) []Result {
		return judge(&branch{e: e, p: e.policy(), of: of, s: s})
	}
}

// leavesOut returns the key without which the policy says nothing about a
// situation, or "" where it has all that it takes.
func (p *Policy) leavesOut(of string) string {
	switch {
	case of == "opposite_lock" && p.OppositeLock == OppositeLockOversteer && p.Oversteer == nil:
		return "oversteer"
	case of == "at_the_limit" && p.AtTheLimit != "" && (p.ShiftAt == nil || p.Demand == nil):
		return "shift_at and demand, which say how far the motors should go"
	}
	if has, ok := p.keys()[of]; ok && !has {
		return of
	}
	return ""
}

// keys says for each situation that has a key of its own whether the policy has it.
func (p *Policy) keys() map[string]bool {
	return map[string]bool{
		"understeer":       p.Understeer != nil,
		"oversteer":        p.Oversteer != nil,
		"opposite_lock":    p.OppositeLock != "",
		"cap":              p.Cap != nil,
		"floor":            p.Floor != nil,
		"standstill":       p.Standstill != nil,
		"reverse":          p.Reverse != "",
		"at_the_limit":     p.AtTheLimit != "",
		"demand":           p.Demand != nil,
		"loop_rate":        p.LoopRate != nil,
		"response":         p.Response != nil,
		"throttle_lost":    p.ThrottleLost != nil,
		"steer_lost":       p.SteerLost != nil,
		"yaw_lost":         p.YawLost != nil,
		"yaw_frozen":       p.YawFrozen != nil,
		"encoder_lost":     p.EncoderLost != nil,
		"bad_checksum":     p.BadChecksum != "",
		"spike":            p.Spike != nil,
		"recovers":         p.Recovers != "",
		"start":            p.StartState != "",
		"outputs_together": p.OutputsTogether != nil,
		"resolution":       p.Resolution != nil,
		"dead_band":        p.DeadBand != nil,
	}
}
