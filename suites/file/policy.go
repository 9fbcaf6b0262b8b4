package file

import (
	"fmt"
	"slices"

	"hilrig/assertions"
)

// PolicyKeys lists the keys that a policy may have, in the order of [PolicyTable].
func PolicyKeys() []string { return PolicyTable.names() }

// policy puts a policy together, and lists its keys as asked.
func (r *reader) policy(c *Car, v *values) {
	if v == nil {
		return
	}
	c.places = map[string]Place{}
	for name, x := range v.of {
		c.Asked = append(c.Asked, name)
		c.places[name] = Place{r.source.Path, x.key.line, x.key.column}
	}
	slices.Sort(c.Asked)
	p := &c.Policy
	p.Demand = r.demand(v.sub("demand"))
	p.TurnFrom = assertions.TurnFrom(v.word("turn_from"))
	p.OppositeLock = assertions.OppositeLock(v.word("opposite_lock"))
	p.Understeer = r.split("understeer", v.sub("understeer"))
	p.Oversteer = r.split("oversteer", v.sub("oversteer"))
	if s := v.sub("shift_at"); s != nil {
		p.ShiftAt = &assertions.ShiftAt{Error: s.number("error"), Gain: s.number("gain"), Is: s.number("is"), Within: s.number("within")}
	}
	p.DeadShift = v.number("dead_shift")
	p.DeadBand = v.optional("dead_band")
	p.SumKept = v.word("sum") == "kept"
	if s := v.sub("cap"); s != nil {
		p.Cap = &assertions.Cap{Of: s.number("of"), SteerAbove: s.number("steer_above")}
	}
	p.Floor = v.optional("floor")
	if f := v.get("floor"); f != nil && p.Cap != nil && f.number >= p.Cap.Of {
		r.problem(f.node, fmt.Sprintf("floor %s is not below the cap", f.node.text), "write a smaller share")
	}
	p.AtTheLimit = assertions.AtTheLimit(v.word("at_the_limit"))
	p.Standstill = v.sub("standstill").optional("no_shift_below")
	p.Reverse = v.word("reverse")
	p.LoopRate = v.sub("loop_rate").optional("at_least")
	if s := v.sub("response"); s != nil {
		p.Response = &assertions.Response{AtMost: s.time("at_most"), Quantile: 0.95}
		if s.has("of") {
			p.Response.Quantile = s.number("of")
		}
	}
	r.losses(p, v)
	p.OutputsTogether = v.optionalTime("outputs_together")
	p.MotorsEqualWithin = v.optional("motors_equal_within")
	p.Resolution = v.optional("resolution")
}

func (r *reader) losses(p *assertions.Policy, v *values) {
	p.ThrottleLost = v.sub("throttle_lost").optionalTime("idle_within")
	p.SteerLost = v.sub("steer_lost").optionalTime("no_shift_within")
	p.YawLost = v.sub("yaw_lost").optionalTime("no_shift_within")
	p.YawFrozen = v.sub("yaw_frozen").optionalTime("no_shift_within")
	p.EncoderLost = v.sub("encoder_lost").optionalTime("no_shift_within")
	p.BadChecksum = v.word("bad_checksum")
	p.Spike = v.sub("spike").optional("at_most")
	p.Recovers = v.word("recovers")
	p.SafeState = v.word("safe_state")
	p.StartState = v.word("start")
}

func (r *reader) demand(v *values) *assertions.Demand {
	if v == nil {
		return nil
	}
	return &assertions.Demand{
		Wheelbase:          v.number("wheelbase"),
		UndersteerGradient: v.number("understeer_gradient"),
		LateralLimit:       v.number("lateral_limit"),
		Within:             v.number("within"),
	}
}

// split reads one branch, and reports a motor named twice and a branch that
// names none.
func (r *reader) split(name string, v *values) *assertions.Split {
	if v == nil {
		return nil
	}
	if !v.written("raise") && !v.written("lower") {
		r.problem(v.node, name+" shifts no motor", "add raise: or lower:, or leave "+name+" out")
		return nil
	}
	s := &assertions.Split{Raise: r.motors(v, "raise"), Lower: r.motors(v, "lower")}
	for _, x := range v.list("lower") {
		if slices.Contains(s.Raise, assertions.Corner(x.word)) {
			r.problem(x.node, fmt.Sprintf("%s raises and lowers %s", name, x.word), "name each motor once")
		}
	}
	return s
}

// motors returns the corners at a key, and reports one named twice.
func (r *reader) motors(v *values, key string) []assertions.Corner {
	var out []assertions.Corner
	for _, x := range v.list(key) {
		c := assertions.Corner(x.word)
		if slices.Contains(out, c) {
			r.problem(x.node, fmt.Sprintf("%s names %s twice", key, x.word), "name each motor once")
			continue
		}
		out = append(out, c)
	}
	return out
}
