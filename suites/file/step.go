package file

import (
	"fmt"
	"math"

	"hilrig/plant"
	"hilrig/rig/signal"
	"hilrig/rig/trace"
	"hilrig/suites/language"
)

// step builds one step from what its own table, the case and the defaults
// say, the first that says it. For the baseline, over stands above step, and
// the yaw rate is on demand unless over says otherwise; it holds what shapes
// begin with. Where by the policy a shift may gather with time, its gain is at 0 then.
func (b *caseBuilder) step(name string, over, step *language.Mapping) Step {
	s := Step{
		Name:     name,
		Baseline: name == "baseline",
		Settle:   b.span("settle", settle, over, step),
		Observe:  b.span("observe", observe, over, step),
		Place:    b.PlaceOf(step.Node),
	}
	side := b.side(step)
	straight := func(x *language.Value) float64 { return x.Number }
	mirrored := func(x *language.Value) float64 {
		if x.Number == 0 {
			return 0 // no negative zero
		}
		return side * x.Number
	}
	v := &s.Values
	v.Speed = b.begin(&s, trace.Speed, b.needed("speed", over, step), straight)
	v.Throttle = b.begin(&s, trace.Throttle, b.needed("throttle", over, step), straight)
	v.Gain = b.begin(&s, trace.Gain, b.needed("gain", over, step), straight)
	if s.Baseline && b.gathers(over) {
		v.Gain, s.points.gain = 0, nil
	}
	v.Steer = b.begin(&s, trace.Steer, b.pick("steer", over, step), mirrored)
	b.wheelRates(&s, over, step)
	b.slip(&s, over, step, side)
	b.near(&s, step)
	s.Demand = b.demand(&s)
	b.takes(&s)
	said := step
	if s.Baseline {
		said = nil
	}
	yaw := b.yawRate(&s, over, said, step)
	whole := b.wholeOf(&s, yaw)
	ofDemand := func(x *language.Value) float64 {
		if !x.Relative {
			return mirrored(x)
		}
		if whole == 0 || x.Number == 0 {
			return 0
		}
		return x.Number * whole
	}
	v.YawRate = b.begin(&s, trace.YawRate, yaw, ofDemand)
	if !s.Baseline {
		b.sweepOrTrials(&s, step, map[trace.Channel]func(*language.Value) float64{trace.Steer: mirrored, trace.YawRate: ofDemand})
		b.disturb(&s, step)
	}
	if side < 0 {
		s.mirror()
	}
	return s
}

// gathers tells whether a shift may gather with time in a baseline that says nothing of gain and yaw rate: firmware
// that keeps the policy need not be quite on demand there.
func (b *caseBuilder) gathers(over *language.Mapping) bool {
	return b.car != nil && b.car.Policy.MayIntegrate() && !over.Written("gain") && !over.Written("yaw_rate")
}

// mirror swaps left and right wheels.
func (s *Step) mirror() {
	w := &s.Wheels
	w[plant.FrontLeft], w[plant.FrontRight] = w[plant.FrontRight], w[plant.FrontLeft]
	w[plant.RearLeft], w[plant.RearRight] = w[plant.RearRight], w[plant.RearLeft]
	for i := range s.Shapes {
		if c := s.Shapes[i].Channel; c >= trace.WheelFrontLeft && c <= trace.WheelRearRight {
			s.Shapes[i].Channel = trace.WheelFrontLeft + trace.Channel(otherSide(int(c-trace.WheelFrontLeft)))
		}
	}
	for i := range s.Bumps {
		s.Bumps[i].Wheel = otherSide(s.Bumps[i].Wheel)
	}
	for i := range s.Faults {
		s.Faults[i].Wire, s.Faults[i].With = otherWire(s.Faults[i].Wire), otherWire(s.Faults[i].With)
	}
}

// otherSide returns the wheel of the same axle on the other side.
func otherSide(wheel int) int { return wheel ^ 1 }

// pick returns what is said of a value in the first place that says it: over,
// step, what the step sweeps or tries, the chosen value of each, the case, the
// defaults. nil where none does.
func (b *caseBuilder) pick(name string, over, step *language.Mapping) *language.Value {
	for _, v := range []*language.Mapping{over, step} {
		if v.Written(name) {
			return v.Get(name)
		}
	}
	for _, how := range sweepAndTrials {
		if v := step.Sub(how); v.MayHave(name) && v.Has(name) {
			return &v.List(name)[0]
		}
	}
	if x := b.chosen[name]; x != nil {
		return x
	}
	for _, v := range []*language.Mapping{b.v, b.defaults} {
		if v == b.defaults && b.atRest && (name == "speed" || name == "yaw_rate") {
			return &language.Value{} // a board is switched on at rest, unless its case says otherwise
		}
		if v.MayHave(name) && v.Written(name) {
			return v.Get(name)
		}
	}
	return nil
}

// says tells whether any place says a value, right or wrong.
func (b *caseBuilder) says(name string, over, step *language.Mapping) bool {
	return over.Written(name) || step.Written(name) || b.chosen[name] != nil || b.v.Written(name) ||
		b.defaults.Written(name) || b.varies(name) ||
		step.Sub("sweep").Written(name) || step.Sub("trials").Written(name)
}

// needed returns a value without which nothing can be played.
func (b *caseBuilder) needed(name string, over, step *language.Mapping) *language.Value {
	x := b.pick(name, over, step)
	if x == nil && !b.says(name, over, step) {
		b.Report(b.v.Node, "the case has no "+name, fmt.Sprintf("add %s: %s to it or to the defaults", name, defaultsTable.Key(name).Sample()))
	}
	return x
}

func (b *caseBuilder) span(name string, otherwise signal.Time, over, step *language.Mapping) signal.Time {
	if x := b.pick(name, over, step); x != nil {
		return signal.FromSeconds(x.Number)
	}
	return otherwise
}

// side returns -1 where the step is played as its mirror image: where either
// the case or the step turns right, not both.
func (b *caseBuilder) side(step *language.Mapping) float64 {
	turn := b.v.Get("turn")
	if x := b.chosen["turn"]; x != nil {
		turn = x
	}
	right := turn != nil && turn.Word == "right"
	if step.MayHave("turn") && step.Word("turn") == "right" {
		right = !right
	}
	if right {
		return -1
	}
	return 1
}

// demand returns the yaw rate with which the car turns in a step just as the policy demands, 0 where it
// declares no demand.
func (b *caseBuilder) demand(s *Step) float64 {
	v := &s.Values
	if b.car == nil || b.car.Policy.Demand == nil {
		return 0
	}
	d := b.car.OnDemandSlipping(v.Speed, v.Steer, &s.Slip)
	if math.IsNaN(d) || math.IsInf(d, 0) {
		b.Report(b.v.Node, fmt.Sprintf("the policy's demand has no bounds at %.4g m/s", v.Speed), "play another speed; the car file's understeer gradient is below 0")
		return 0
	}
	if d == 0 {
		return 0 // no negative zero
	}
	return d
}

// onDemand is the yaw rate where the file does not give one.
var onDemand = language.Value{Number: 1, Relative: true}

// yawRate returns what is said of the yaw rate, and reports a share of a demand
// that there is not. A baseline, for which said is nil, has it on demand unless
// over says otherwise.
func (b *caseBuilder) yawRate(s *Step, over, said, step *language.Mapping) *language.Value {
	v, x := &s.Values, over.Get("yaw_rate")
	if said != nil {
		x = b.pick("yaw_rate", over, said)
	}
	if x == nil && said == nil && over.Written("gain") {
		x = b.spinOf(step)
	}
	if isPoint(x) {
		s.points.yaw = x
		switch x.Mapping.Table {
		case yawClear:
			x = b.yawClear(x.Mapping.Get("clear"))
		case yawOfRange:
			spin, _ := b.spin(step)
			if s.noPoint != "" { // nothing is asked, and the wires carry what is played
				spin = 0
			}
			x = &language.Value{Node: x.Node, Number: spin}
		default:
			x = b.yawNear(x.Mapping.Get("near"))
		}
	}
	if x != nil && !isShareOfDemand(x) {
		return x
	}
	at := b.v.Node
	if x != nil && said != nil {
		at = x.Node
	}
	switch name, moving := b.moving(said, step); {
	case moving == nil:
	case x == nil:
		b.Report(moving, fmt.Sprintf("%s moves, and the yaw rate that is left out is a share of the demand, which moves with it", name), "add yaw_rate: 20 deg/s, or a shape in deg/s")
	default:
		b.Report(at, fmt.Sprintf("the yaw rate is a share of the demand, which moves with %s", name), "write it in deg/s, as a shape if it has to move")
	}
	if x == nil {
		x = &onDemand
	}
	if !b.undemanded(v) || b.anyPolicy {
		return x
	}
	what, remedy := "the baseline is played with the yaw rate on demand", "add baseline: {yaw_rate: 20 deg/s}, or baseline: none"
	if said != nil {
		what, remedy = "the yaw rate is a share of the demand", "write it in deg/s"
	}
	b.Report(at, what+", but the policy in "+b.car.Source.Path+" declares no demand", remedy+", or add demand: to the policy there")
	return x
}

// yawNear returns what is played for a yaw rate that is a point: on the other side of the demand, where that is tried, what
// lies as far from it.
func (b *caseBuilder) yawNear(x *language.Value) *language.Value {
	if x == nil || !x.Relative || !b.place.across || x.Number < 0 || x.Number > 2 {
		return x
	}
	other := *x
	other.Number = 2 - x.Number
	return &other
}

// yawClear returns what is played for a yaw rate that is to be clear of the demand: what lies so many times as far from it as is
// tried.
func (b *caseBuilder) yawClear(x *language.Value) *language.Value {
	switch {
	case x == nil:
		return nil
	case !x.Relative || x.Number == 1:
		b.Report(x.Node, "a yaw rate that is to be clear of the demand is written as a share of it, to one side", "write yaw_rate: {clear: 90 % of demand}, or 110 %")
	case b.place.farther <= 1:
		return x
	}
	other := *x
	other.Number = 1 + float64((x.Number-1)*b.place.farther)
	return &other
}

// moving returns which of speed and steer moves in a step whose yaw rate is
// played, and where it says so; nil where none does. In closed loop the model of
// the car turns as it will.
func (b *caseBuilder) moving(said, step *language.Mapping) (name string, at *language.Node) {
	if said == nil || b.v.Flag("closed") {
		return "", nil
	}
	for _, name := range []string{"speed", "steer"} {
		x := b.pick(name, nil, step)
		switch sweep, trials := step.Sub("sweep"), step.Sub("trials"); {
		case x != nil && x.Mapping != nil && !isPoint(x):
			return name, x.Node
		case sweep.Has(name):
			return name, sweep.Get(name).Node
		case trials.Has(name):
			return name, trials.Get(name).Node
		}
	}
	return "", nil
}

// wheelRates reads the wheels that do not turn as the car moves.
func (b *caseBuilder) wheelRates(s *Step, over, step *language.Mapping) {
	x := b.pick("wheels", over, step)
	if x == nil {
		return
	}
	for _, w := range plant.Wheels {
		if rate := x.Mapping.Get(w.String()); rate != nil {
			begin := b.begin(s, trace.WheelFrontLeft+trace.Channel(w), rate, func(x *language.Value) float64 { return x.Number })
			s.Wheels[w] = &begin
		}
	}
}
