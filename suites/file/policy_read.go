package file

import (
	"fmt"
	"slices"

	"hilrig/assertions/law"
	"hilrig/suites/language"
)

// readTurn reads when the car turns too little or too much, and who then moves.
func (r *reader) readTurn(p *law.Policy, v *language.Mapping) {
	p.Demand = demandOf(v.Sub("demand"))
	p.TurnFrom = wordAt[law.TurnFrom](v, "turn_from")
	p.OppositeLock = wordAt[law.OppositeLock](v, "opposite_lock")
	p.OppositeLockShare = v.Number("opposite_lock_share")
	p.Understeer = r.split("understeer", v.Sub("understeer"))
	p.Oversteer = r.split("oversteer", v.Sub("oversteer"))
	r.oppositeLock(v)
}

// readSize reads by how much the motors move.
func (r *reader) readSize(p *law.Policy, v *language.Mapping) {
	p.ShiftAt = r.shiftAt(v.Sub("shift_at"))
	p.DeadShift = v.Number("dead_shift")
	p.DeadBand = v.Optional("dead_band")
	if p.Straight = r.straight(v.Sub("straight")); !v.Written("straight") {
		p.Unsaid |= law.UnsaidStraight
	}
	if p.GainSteps = r.gainSteps(v); !v.Written("gain_steps") {
		p.Unsaid |= law.UnsaidGainSteps
	}
	p.SumKept = v.Word("sum") == "kept"
}

// readLimits reads between what the commands stay.
func (r *reader) readLimits(p *law.Policy, v *language.Mapping) {
	if s := v.Sub("cap"); s != nil {
		p.Cap = &law.Cap{Of: s.Number("of"), SteerAbove: s.Number("steer_above"), Cut: wordAt[law.CapCut](s, "cut")}
	}
	p.SumCap = v.Optional("sum_cap")
	p.Floor = v.Optional("floor")
	p.AtTheLimit = wordAt[law.AtTheLimit](v, "at_the_limit")
	p.AtTheCap = wordAt[law.AtTheLimit](v, "at_the_cap")
	p.AtTheFloor = wordAt[law.AtTheLimit](v, "at_the_floor")
	p.TractionControl = v.Optional("traction_control")
	r.limitsFit(p, v)
}

// readWhen reads in what states of the car there is a shift, and what the commands go through.
func (r *reader) readWhen(p *law.Policy, v *language.Mapping) {
	p.Standstill = r.fade(v.Sub("standstill"), "no_shift_below", "full_from")
	p.Braking = wordAt[law.Braking](v, "braking")
	p.Reverse = wordAt[law.Reverse](v, "reverse")
	if s := v.Sub("smoothing"); s != nil {
		p.Smoothing = &law.Smoothing{Filter: s.Time("filter"), FullRangeIn: s.Time("full_range_in")}
		if !s.Written("filter") && !s.Written("full_range_in") {
			r.Report(s.Node, "smoothing says nothing", "add filter: 20 ms or full_range_in: 300 ms, or leave smoothing out")
		}
	}
	p.ThrottleCurve = wordAt[law.ThrottleCurve](v, "throttle_curve")
}

// readTiming reads how fast the board is.
func readTiming(p *law.Policy, v *language.Mapping) {
	p.LoopRate = v.Sub("loop_rate").Optional("at_least")
	if s := v.Sub("response"); s != nil {
		p.Response = &law.Response{AtMost: s.Time("at_most"), Quantile: s.NumberOr("of", 0.95)}
	}
	p.LongestGap = v.OptionalTime("longest_gap")
	p.CorruptFrames = v.Optional("corrupt_frames")
}

// readOutputs reads what the motor lines carry, and how the four go together.
func (r *reader) readOutputs(p *law.Policy, v *language.Mapping) {
	p.SafeState = wordAt[law.Outputs](v, "safe_state")
	p.StartState = wordAt[law.Outputs](v, "start")
	p.StartWaitsFor = r.inputs(v, "start_waits_for")
	p.StartAtRest = v.OptionalTime("start_at_rest")
	p.Arms = wordAt[law.Recovers](v, "arms")
	p.OutputsTogether = v.OptionalTime("outputs_together")
	p.MotorsEqualWithin = v.Optional("motors_equal_within")
	p.Resolution = v.Optional("resolution")
	p.DrivesBetter = v.Flag("drives_better")
}

// wordAt returns what the word at a key stands for, 0 where the key is left out or wrong. It
// panics where the table lets a word through that the kind does not have, which would
// otherwise count as left out for ever.
func wordAt[W law.Word](v *language.Mapping, name string) W {
	word := v.Word(name)
	w := law.WordFor[W](word)
	if word != "" && w == 0 {
		panic(fmt.Sprintf("file: %s has the word %q, which %T lacks", name, word, w))
	}
	return w
}

// demandOf reads the demand.
func demandOf(v *language.Mapping) *law.Demand {
	if v == nil {
		return nil
	}
	return &law.Demand{
		Wheelbase:          v.Number("wheelbase"),
		UndersteerGradient: v.Number("understeer_gradient"),
		LateralLimit:       v.Number("lateral_limit"),
		YawLimit:           v.Number("yaw_limit"),
		SteerRate:          v.Number("steer_rate"),
		SpeedFrom:          wordAt[law.SpeedFrom](v, "speed_from"),
		SteerLinear:        v.Word("steer") == "linear",
		Within:             v.Number("within"),
	}
}

// split reads one branch, and reports a motor named twice and a branch that
// names none.
func (r *reader) split(name string, v *language.Mapping) *law.Split {
	if v == nil {
		return nil
	}
	if !v.Written("raise") && !v.Written("lower") {
		r.Report(v.Node, name+" shifts no motor", "add raise: or lower:, or leave "+name+" out")
		return nil
	}
	s := &law.Split{
		Raise: r.motors(v, "raise"), Lower: r.motors(v, "lower"),
		Front: v.Number("front"), Rear: v.Number("rear"), Varies: v.Word("shares") == "vary",
	}
	for _, x := range v.List("lower") {
		if slices.Contains(s.Raise, law.Corner(x.Word)) {
			r.Report(x.Node, fmt.Sprintf("%s raises and lowers %s", name, x.Word), "name each motor once")
		}
	}
	r.axleShares(name, s, v)
	return s
}

// motors returns the corners at a key, and reports one named twice.
func (r *reader) motors(v *language.Mapping, key string) []law.Corner {
	var out []law.Corner
	for _, x := range v.List(key) {
		c := law.Corner(x.Word)
		if slices.Contains(out, c) {
			r.Report(x.Node, fmt.Sprintf("%s names %s twice", key, x.Word), "name each motor once")
			continue
		}
		out = append(out, c)
	}
	return out
}

// inputs returns the inputs at a key, and reports one named twice.
func (r *reader) inputs(v *language.Mapping, key string) (all []law.Input) {
	for _, x := range v.List(key) {
		in := law.WordFor[law.Input](x.Word)
		if slices.Contains(all, in) {
			r.Report(x.Node, fmt.Sprintf("%s names %s twice", key, x.Word), "name each input once")
			continue
		}
		all = append(all, in)
	}
	return all
}

// straight reads where the car goes nearly straight on.
func (r *reader) straight(v *language.Mapping) *law.Straight {
	if v == nil {
		return nil
	}
	s := &law.Straight{Steer: r.fade(v, "no_shift_below", "full_from"), Demand: r.fade(v, "demand_below", "demand_full_from")}
	if s.Steer == nil && s.Demand == nil && len(v.Values) == 0 {
		r.Report(v.Node, "straight says nothing", "add no_shift_below: 1.5 deg or demand_below: 5 deg/s, or leave straight out")
	}
	return s
}

// fade reads a range over which the shift comes in, nil where the table has neither of its
// keys: it ends where it begins where only that is written, and begins at 0 where only
// its end is.
func (r *reader) fade(v *language.Mapping, below, full string) *law.Fade {
	if v == nil || !v.Has(below) && !v.Has(full) {
		return nil
	}
	f := &law.Fade{From: v.Number(below), Full: v.NumberOr(full, v.Number(below))}
	if f.Full < f.From {
		x := v.Get(full).Node
		r.Report(x, fmt.Sprintf("%s %s is below %s, %s", full, x.Text, below, v.NodeAt(below).Text), "write the larger value at "+full+", or leave it out")
	}
	return f
}
