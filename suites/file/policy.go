package file

import (
	"fmt"
	"slices"

	"hilrig/assertions"
	"hilrig/suites/language"
)

// PolicyKeys lists the keys that a policy may have, in the order of [PolicyTable].
func PolicyKeys() []string { return PolicyTable.Names() }

// policy puts a policy together, and lists its keys as asked.
func (r *reader) policy(c *Car, v *language.Mapping) {
	if v == nil {
		return
	}
	c.places = map[string]language.Place{}
	for name, x := range v.Values {
		c.Asked = append(c.Asked, name)
		c.places[name] = r.PlaceOf(x.Key)
	}
	slices.Sort(c.Asked)
	p := &c.Policy
	p.Demand = r.demand(v.Sub("demand"))
	p.TurnFrom = assertions.PolicyWord[assertions.TurnFrom](v.Word("turn_from"))
	p.OppositeLock = assertions.PolicyWord[assertions.OppositeLock](v.Word("opposite_lock"))
	p.Understeer = r.split("understeer", v.Sub("understeer"))
	p.Oversteer = r.split("oversteer", v.Sub("oversteer"))
	if s := v.Sub("shift_at"); s != nil {
		p.ShiftAt = &assertions.ShiftAt{Error: s.Number("error"), Gain: s.Number("gain"), Is: s.Number("is"), Within: s.Number("within")}
	}
	p.DeadShift = v.Number("dead_shift")
	p.DeadBand = v.Optional("dead_band")
	p.SumKept = v.Word("sum") == "kept"
	if s := v.Sub("cap"); s != nil {
		p.Cap = &assertions.Cap{Of: s.Number("of"), SteerAbove: s.Number("steer_above")}
	}
	p.Floor = v.Optional("floor")
	if f := v.Get("floor"); f != nil && p.Cap != nil && f.Number >= p.Cap.Of {
		r.Report(f.Node, fmt.Sprintf("floor %s is not below the cap", f.Node.Text), "write a smaller share")
	}
	p.AtTheLimit = assertions.PolicyWord[assertions.AtTheLimit](v.Word("at_the_limit"))
	p.Standstill = v.Sub("standstill").Optional("no_shift_below")
	p.Reverse = assertions.PolicyWord[assertions.Reverse](v.Word("reverse"))
	p.LoopRate = v.Sub("loop_rate").Optional("at_least")
	if s := v.Sub("response"); s != nil {
		p.Response = &assertions.Response{AtMost: s.Time("at_most"), Quantile: s.NumberOr("of", 0.95)}
	}
	r.losses(p, v)
	p.OutputsTogether = v.OptionalTime("outputs_together")
	p.MotorsEqualWithin = v.Optional("motors_equal_within")
	p.Resolution = v.Optional("resolution")
}

func (r *reader) losses(p *assertions.Policy, v *language.Mapping) {
	p.ThrottleLost = v.Sub("throttle_lost").OptionalTime("idle_within")
	p.SteerLost = v.Sub("steer_lost").OptionalTime("no_shift_within")
	p.YawLost = v.Sub("yaw_lost").OptionalTime("no_shift_within")
	p.YawFrozen = v.Sub("yaw_frozen").OptionalTime("no_shift_within")
	p.EncoderLost = v.Sub("encoder_lost").OptionalTime("no_shift_within")
	p.BadChecksum = assertions.PolicyWord[assertions.BadChecksum](v.Word("bad_checksum"))
	p.Spike = v.Sub("spike").Optional("at_most")
	p.Recovers = assertions.PolicyWord[assertions.Recovers](v.Word("recovers"))
	p.SafeState = assertions.PolicyWord[assertions.Outputs](v.Word("safe_state"))
	p.StartState = assertions.PolicyWord[assertions.Outputs](v.Word("start"))
}

func (r *reader) demand(v *language.Mapping) *assertions.Demand {
	if v == nil {
		return nil
	}
	return &assertions.Demand{
		Wheelbase:          v.Number("wheelbase"),
		UndersteerGradient: v.Number("understeer_gradient"),
		LateralLimit:       v.Number("lateral_limit"),
		Within:             v.Number("within"),
	}
}

// split reads one branch, and reports a motor named twice and a branch that
// names none.
func (r *reader) split(name string, v *language.Mapping) *assertions.Split {
	if v == nil {
		return nil
	}
	if !v.Written("raise") && !v.Written("lower") {
		r.Report(v.Node, name+" shifts no motor", "add raise: or lower:, or leave "+name+" out")
		return nil
	}
	s := &assertions.Split{Raise: r.motors(v, "raise"), Lower: r.motors(v, "lower")}
	for _, x := range v.List("lower") {
		if slices.Contains(s.Raise, assertions.Corner(x.Word)) {
			r.Report(x.Node, fmt.Sprintf("%s raises and lowers %s", name, x.Word), "name each motor once")
		}
	}
	return s
}

// motors returns the corners at a key, and reports one named twice.
func (r *reader) motors(v *language.Mapping, key string) []assertions.Corner {
	var out []assertions.Corner
	for _, x := range v.List(key) {
		c := assertions.Corner(x.Word)
		if slices.Contains(out, c) {
			r.Report(x.Node, fmt.Sprintf("%s names %s twice", key, x.Word), "name each motor once")
			continue
		}
		out = append(out, c)
	}
	return out
}
