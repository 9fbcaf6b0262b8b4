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

	"proportional": shifting("proportional", (*branch).proportional),
	"dead_band":    shifting("dead_band", (*branch).deadBand),
	"no_wind_up":   shifting("no_wind_up", (*branch).noWindUp),
	"monotone":     ranging("monotone", (*branch).monotone),
	"no_wrap":      ranging("no_wrap", (*branch).noWrap),

	"throttle_lost": ranging("throttle_lost", (*branch).throttleLost),
	"steer_lost":    shifting("steer_lost", (*branch).steerLost),
	"yaw_lost":      shifting("yaw_lost", (*branch).yawLost),
	"yaw_frozen":    shifting("yaw_frozen", (*branch).yawFrozen),
	"encoder_lost":  shifting("encoder_lost", (*branch).encoderLost),
	"bad_checksum":  shifting("bad_checksum", (*branch).badChecksum),
	"spike":         shifting("spike", (*branch).spike),
	"recovers":      ranging("recovers", (*branch).recovers),
	"start":         ranging("start", (*branch).start),

	"outputs_together": ranging("outputs_together", (*branch).outputsTogether),
	"resolution":       ranging("resolution", (*branch).resolution),

	"loop_rate": loopRate,
	"response":  response,

	"demand":  sweptDemand,
	"follows": followsLog,
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
// the floor; at_the_limit for how the branch behaves there. The others are
// described at the functions that judge them.
var Situations = slices.SortedFunc(maps.Keys(situations), func(a, b string) int {
	rank := func(of string) int {
		if i := slices.Index(branches, of); i >= 0 {
			return i
		}
		return len(branches)
	}
	return cmp.Or(rank(a)-rank(b), cmp.Compare(a, b))
})

// judge returns the results of the situation c.Of, each named after it:
// "understeer: outside_rear raised". Where the policy says nothing about it,
// that is one result, not asked.
func (c PolicyBranch) judge(e *Evidence) []Result {
	judge, known := situations[c.Of]
	if !known {
		return []Result{{Name: c.Of, Verdict: Undecided, Why: fmt.Sprintf("%q is no situation; use one of %v", c.Of, Situations)}}
	}
	b := branch{e: e, p: e.policy(), of: c.Of}
	if key := b.p.leavesOut(c.Of); key != "" {
		return []Result{b.notAsked("the policy has no " + key)}
	}
	s, err := e.step(c.Step)
	if err != nil {
		return []Result{unjudged(b.title(), err)}
	}
	return judge(e, s)
}

// shifting returns the situation of that name that is judged by shifts from
// the baseline.
func shifting(of string, judge func(*branch) []Result) situation {
	return func(e *Evidence, s *Step) []Result {
		b := branch{e: e, p: e.policy(), of: of, s: s}
		var err error
		if b.base, err = e.baselineOf(s); err != nil {
			return []Result{unjudged(b.title(), err)}
		}
		if err = b.misplaced(); err != nil {
			return []Result{unjudged(b.title(), err)}
		}
		return judge(&b)
	}
}

// ranging returns the situation of that name that is judged by the commands
// themselves; a baseline is there only where the case has one.
func ranging(of string, judge func(*branch) []Result) situation {
	return func(e *Evidence, s *Step) []Result {
		b := branch{e: e, p: e.policy(), of: of, s: s}
		b.base, _ = e.baselineOf(s)
		return judge(&b)
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
	case of == "proportional" && (p.ShiftAt == nil || p.Demand == nil):
		return "shift_at and demand, which say how far the motors should go"
	case (of == "proportional" || of == "monotone") && p.Understeer == nil && p.Oversteer == nil:
		return "understeer and oversteer"
	case of == "monotone" && p.Demand == nil:
		return "demand"
	case of == "no_wind_up" && p.Response == nil:
		return "response"
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
