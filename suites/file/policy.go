package file

import (
	"fmt"
	"slices"

	"hilrig/assertions/law"
	"hilrig/suites/language"
)

// corners lists every word for a motor.
var corners = func() []string {
	words := make([]string, len(law.Corners))
	for i, c := range law.Corners {
		words[i] = string(c)
	}
	return words
}()

// PolicyTable declares the owner's policy. A key that is left out is not
// asked, and listed as not asked.
var PolicyTable = language.NewTable("a policy", "What the owner says that the board should do.", []language.Key{
	{Name: "demand", Kind: language.Group, Table: demandTable, Doc: "the yaw rate that the driver asks for"},
	{Name: "turn_from", Kind: language.Word, Words: law.TurnFrom(0).Words(), Doc: "by what the firmware takes the outside of a turn; left out: yaw_rate"},
	{Name: "opposite_lock", Kind: language.Word, Words: law.OppositeLock(0).Words(), Doc: "what to do when demand and yaw rate have opposite signs"},
	{Name: "understeer", Kind: language.Group, Table: splitTable, Doc: "whom to shift when the car turns less than asked"},
	{Name: "oversteer", Kind: language.Group, Table: splitTable, Doc: "whom to shift when the car turns more than asked"},
	{Name: "shift_at", Kind: language.Group, Table: shiftAtTable, Doc: "size of the shift; between, it is proportional to error and gain"},
	{Name: "dead_shift", Kind: language.Measure, Quantity: language.Share, Least: "0.01 %", Most: "50 %", Example: "1 %", Doc: "a shift below this share of range counts as none; left out: the larger of 1 % and three command steps"},
	{Name: "dead_band", Kind: language.Measure, Quantity: language.AngularRate, Least: "0 deg/s", Most: "2000 deg/s", Example: "0 deg/s", Doc: "yaw error that the board ignores on purpose"},
	{Name: "sum", Kind: language.Word, Words: []string{"kept"}, Doc: "the sum of the four commands is that of the baseline"},
	{Name: "cap", Kind: language.Group, Table: capTable, Doc: "highest command while the steering is turned"},
	{Name: "floor", Kind: language.Measure, Quantity: language.Share, Least: "-100 %", Most: "100 %", Example: "0 %", Doc: "no motor goes below this while the throttle is at or above it"},
	{Name: "at_the_limit", Kind: language.Word, Words: law.AtTheLimit(0).Words(), Doc: "a motor at its limit stays there; or its partner moves by twice the amount"},
	{Name: "standstill", Kind: language.Group, Table: standstillTable, Doc: "no shift when the car stands"},
	{Name: "reverse", Kind: language.Word, Words: law.Reverse(0).Words(), Doc: "no shift when the car rolls backwards"},
	{Name: "loop_rate", Kind: language.Group, Table: loopRateTable, Doc: "how often the board updates its commands"},
	{Name: "response", Kind: language.Group, Table: responseTable, Doc: "how late the board answers"},
	{Name: "throttle_lost", Kind: language.Group, Table: idleWithinTable, Doc: "no throttle pulses"},
	{Name: "steer_lost", Kind: language.Group, Table: noShiftWithinTable, Doc: "no steering pulses"},
	{Name: "yaw_lost", Kind: language.Group, Table: noShiftWithinTable, Doc: "no frames of the yaw-rate sensor"},
	{Name: "yaw_frozen", Kind: language.Group, Table: noShiftWithinTable, Doc: "frames of the yaw-rate sensor go on, its value stands still"},
	{Name: "bad_checksum", Kind: language.Word, Words: law.BadChecksum(0).Words(), Doc: "frames with a wrong checksum"},
	{Name: "spike", Kind: language.Group, Table: spikeTable, Doc: "one frame whose value is an outlier"},
	{Name: "encoder_lost", Kind: language.Group, Table: noShiftWithinTable, Doc: "no edges of one wheel's encoder"},
	{Name: "recovers", Kind: language.Word, Words: law.Recovers(0).Words(), Doc: "what a board needs after a loss is over"},
	{Name: "safe_state", Kind: language.Word, Words: law.Outputs(0).Words(), Doc: "what the motor lines carry after a loss"},
	{Name: "start", Kind: language.Word, Words: law.Outputs(0).Words(), Doc: "what the motor lines carry after power-up"},
	{Name: "outputs_together", Kind: language.Measure, Quantity: language.Duration, Least: "1 us", Most: "1 s", Example: "500 us", Doc: "changes of the four commands stand this close"},
	{Name: "motors_equal_within", Kind: language.Measure, Quantity: language.Share, Least: "0.01 %", Most: "50 %", Example: "1 %", Doc: "the four commands with no shift asked"},
	{Name: "resolution", Kind: language.Measure, Quantity: language.Share, Least: "0.001 %", Most: "50 %", Example: "0.5 %", Doc: "largest step of a command"},
})

var demandTable = language.NewTable("a demand", "Yaw rate = speed x steer / (wheelbase + understeer_gradient x speed^2).", []language.Key{
	{Name: "model", Kind: language.Word, Words: []string{"single_track"}, Required: true, Doc: "the formula that the firmware has"},
	{Name: "wheelbase", Kind: language.Measure, Quantity: language.Length, Required: true, Least: "50 mm", Most: "2 m", Doc: "as the firmware has it; lint warns where it is not the car's, by more than within"},
	{Name: "understeer_gradient", Kind: language.Measure, Quantity: language.UndersteerGradient, Required: true, Least: "-0.5 rad/(m/s2)", Most: "0.5 rad/(m/s2)", Doc: "as the firmware has it"},
	{Name: "steer", Kind: language.Word, Words: []string{"linear"}, Doc: "the firmware takes the wheel angle as linear in the pulse"},
	{Name: "lateral_limit", Kind: language.Measure, Quantity: language.Acceleration, Words: []string{"none"}, Least: "0.1 m/s2", Most: "100 m/s2", Doc: "demand is limited to this over speed; left out: none"},
	{Name: "within", Kind: language.Measure, Quantity: language.Share, Required: true, Least: "0.1 %", Most: "100 %", Example: "5 %", Doc: "how close the board's demand has to be"},
})

var splitTable = language.NewTable("a branch of the torque split", "", []language.Key{
	{Name: "raise", Kind: language.Word, Many: language.OneOrList, Words: corners, Doc: "motors that get more torque"},
	{Name: "lower", Kind: language.Word, Many: language.OneOrList, Words: corners, Doc: "motors that get less torque"},
})

var shiftAtTable = language.NewTable("a size of shift", "", []language.Key{
	{Name: "error", Kind: language.Measure, Quantity: language.AngularRate, Required: true, Least: "0.1 deg/s", Most: "2000 deg/s", Doc: "yaw error"},
	{Name: "gain", Kind: language.Measure, Quantity: language.Share, Required: true, Least: "0.1 %", Most: "100 %", Example: "50 %", Doc: "gain trim"},
	{Name: "is", Kind: language.Measure, Quantity: language.Share, Required: true, Least: "0.01 %", Most: "100 %", Example: "8 %", Doc: "shift of each motor, share of range"},
	{Name: "within", Kind: language.Measure, Quantity: language.Share, Required: true, Least: "0.1 %", Most: "100 %", Example: "5 %", Doc: "share of the shift"},
})

var capTable = language.NewTable("a cap", "", []language.Key{
	{Name: "of", Kind: language.Measure, Quantity: language.Share, Required: true, Least: "1 %", Most: "100 %", Example: "92 %", Doc: "highest command"},
	{Name: "steer_above", Kind: language.Measure, Quantity: language.Angle, Least: "0 deg", Most: "60 deg", Example: "2 deg", Doc: "steer angle above which it holds; left out: 0 deg"},
})

var standstillTable = language.NewTable("a standstill", "", []language.Key{{Name: "no_shift_below", Kind: language.Measure, Quantity: language.Speed, Required: true, Least: "0.01 m/s", Most: "10 m/s", Example: "0.5 m/s", Doc: "speed"}})

var loopRateTable = language.NewTable("a loop rate", "", []language.Key{{Name: "at_least", Kind: language.Measure, Quantity: language.Frequency, Required: true, Least: "1 Hz", Most: "20 kHz", Doc: "mean rate"}})

var responseTable = language.NewTable("a response", "", []language.Key{
	{Name: "at_most", Kind: language.Measure, Quantity: language.Duration, Required: true, Least: "10 us", Most: "10 s", Example: "12 ms", Doc: "from the change on the wire to the end of the first changed command"},
	{Name: "of", Kind: language.Measure, Quantity: language.Share, Least: "1 %", Most: "99.9 %", Example: "95 %", Doc: "share of the trials that have to keep it; left out: 95 %"},
})

var idleWithinTable = language.NewTable("a loss that asks for idle", "", []language.Key{{Name: "idle_within", Kind: language.Measure, Quantity: language.Duration, Required: true, Least: "1 ms", Most: "1 min", Example: "150 ms", Doc: "from the end of the last good pulse"}})

var noShiftWithinTable = language.NewTable("a loss that asks for no shift", "", []language.Key{{Name: "no_shift_within", Kind: language.Measure, Quantity: language.Duration, Required: true, Least: "1 ms", Most: "1 min", Example: "100 ms", Doc: "from the end of the last good pulse, frame or edge"}})

var spikeTable = language.NewTable("a spike", "", []language.Key{{Name: "at_most", Kind: language.Measure, Quantity: language.Share, Required: true, Least: "0.01 %", Most: "100 %", Example: "5 %", Doc: "share of range that it may move a motor"}})

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
	p.TurnFrom = law.WordFor[law.TurnFrom](v.Word("turn_from"))
	p.OppositeLock = law.WordFor[law.OppositeLock](v.Word("opposite_lock"))
	p.Understeer = r.split("understeer", v.Sub("understeer"))
	p.Oversteer = r.split("oversteer", v.Sub("oversteer"))
	if s := v.Sub("shift_at"); s != nil {
		p.ShiftAt = &law.ShiftAt{Error: s.Number("error"), Gain: s.Number("gain"), Is: s.Number("is"), Within: s.Number("within")}
	}
	p.DeadShift = v.Number("dead_shift")
	p.DeadBand = v.Optional("dead_band")
	p.SumKept = v.Word("sum") == "kept"
	if s := v.Sub("cap"); s != nil {
		p.Cap = &law.Cap{Of: s.Number("of"), SteerAbove: s.Number("steer_above")}
	}
	p.Floor = v.Optional("floor")
	if f := v.Get("floor"); f != nil && p.Cap != nil && f.Number >= p.Cap.Of {
		r.Report(f.Node, fmt.Sprintf("floor %s is not below the cap", f.Node.Text), "write a smaller share")
	}
	p.AtTheLimit = law.WordFor[law.AtTheLimit](v.Word("at_the_limit"))
	if s := v.Sub("standstill"); s != nil {
		p.Standstill = &law.Fade{From: s.Number("no_shift_below"), Full: s.Number("no_shift_below")}
	}
	p.Reverse = law.WordFor[law.Reverse](v.Word("reverse"))
	p.LoopRate = v.Sub("loop_rate").Optional("at_least")
	if s := v.Sub("response"); s != nil {
		p.Response = &law.Response{AtMost: s.Time("at_most"), Quantile: s.NumberOr("of", 0.95)}
	}
	r.losses(p, v)
	p.OutputsTogether = v.OptionalTime("outputs_together")
	p.MotorsEqualWithin = v.Optional("motors_equal_within")
	p.Resolution = v.Optional("resolution")
}

func (r *reader) losses(p *law.Policy, v *language.Mapping) {
	for key, to := range map[string]**law.Loss{
		"throttle_lost": &p.ThrottleLost, "steer_lost": &p.SteerLost, "yaw_lost": &p.YawLost, "yaw_frozen": &p.YawFrozen, "encoder_lost": &p.EncoderLost,
	} {
		*to = loss(v.Sub(key))
	}
	p.BadChecksum = law.WordFor[law.BadChecksum](v.Word("bad_checksum"))
	p.Spike = v.Sub("spike").Optional("at_most")
	p.Recovers = law.WordFor[law.Recovers](v.Word("recovers"))
	p.SafeState = law.WordFor[law.Outputs](v.Word("safe_state"))
	p.StartState = law.WordFor[law.Outputs](v.Word("start"))
}

// loss reads what a board does after a loss, nil where nothing is written.
func loss(v *language.Mapping) *law.Loss {
	switch {
	case v == nil:
		return nil
	case v.Table.Key("idle_within") != nil:
		return &law.Loss{Then: law.LossIdle, Within: v.Time("idle_within")}
	}
	return &law.Loss{Then: law.LossNoShift, Within: v.Time("no_shift_within")}
}

func (r *reader) demand(v *language.Mapping) *law.Demand {
	if v == nil {
		return nil
	}
	return &law.Demand{
		Wheelbase:          v.Number("wheelbase"),
		UndersteerGradient: v.Number("understeer_gradient"),
		LateralLimit:       v.Number("lateral_limit"),
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
	s := &law.Split{Raise: r.motors(v, "raise"), Lower: r.motors(v, "lower")}
	for _, x := range v.List("lower") {
		if slices.Contains(s.Raise, law.Corner(x.Word)) {
			r.Report(x.Node, fmt.Sprintf("%s raises and lowers %s", name, x.Word), "name each motor once")
		}
	}
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
