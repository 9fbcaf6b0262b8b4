package file

import (
	"fmt"
	"math"

	"hilrig/plant"
	"hilrig/rig/signal"
)

// step builds one step from what its own table, the case and the defaults
// say, the first that says it. For the baseline, over stands above step, and
// the yaw rate is on demand unless over says otherwise.
func (b *caseBuilder) step(name string, over, step *values) Step {
	s := Step{
		Name:    name,
		Settle:  b.span("settle", settle, over, step),
		Observe: b.span("observe", observe, over, step),
		Place:   Place{b.source.Path, step.node.line, step.node.column},
	}
	v := &s.Values
	v.Speed = b.needed("speed", over, step)
	v.Throttle = b.needed("throttle", over, step)
	v.Gain = b.needed("gain", over, step)
	if x := b.pick("steer", over, step); x != nil {
		v.Steer = x.number
	}
	v.Wheels = b.wheelRates(over, step)
	side := b.side(step)
	if side < 0 && v.Steer != 0 { // no negative zero
		v.Steer = -v.Steer
	}
	v.Demand = b.demand(v)
	if name == "baseline" {
		step = nil
	}
	b.yawRate(v, over, step, side)
	if side < 0 {
		w := &v.Wheels
		w[plant.FrontLeft], w[plant.FrontRight] = w[plant.FrontRight], w[plant.FrontLeft]
		w[plant.RearLeft], w[plant.RearRight] = w[plant.RearRight], w[plant.RearLeft]
	}
	return s
}

// pick returns what is said of a value in the first place that says it: over,
// step, the chosen value of each, the case, the defaults. nil where none does.
func (b *caseBuilder) pick(name string, over, step *values) *value {
	for _, v := range []*values{over, step} {
		if v.written(name) {
			return v.get(name)
		}
	}
	if x := b.chosen[name]; x != nil {
		return x
	}
	for _, v := range []*values{b.v, b.defaults} {
		if v.written(name) {
			return v.get(name)
		}
	}
	return nil
}

// says tells whether any place says a value, right or wrong.
func (b *caseBuilder) says(name string, over, step *values) bool {
	return over.written(name) || step.written(name) || b.chosen[name] != nil || b.v.written(name) ||
		b.defaults.written(name) || b.v.sub("each").written(name)
}

// needed returns a value without which nothing can be played.
func (b *caseBuilder) needed(name string, over, step *values) float64 {
	if x := b.pick(name, over, step); x != nil {
		return x.number
	}
	if !b.says(name, over, step) {
		b.problem(b.v.node, "the case has no "+name, fmt.Sprintf("add %s: %s to it or to the defaults", name, defaultsTable.key(name).example()))
	}
	return 0
}

func (b *caseBuilder) span(name string, otherwise signal.Time, over, step *values) signal.Time {
	if x := b.pick(name, over, step); x != nil {
		return signal.FromSeconds(x.number)
	}
	return otherwise
}

// side returns -1 where the step is played as its mirror image: where either
// the case or the step turns right, not both.
func (b *caseBuilder) side(step *values) float64 {
	turn := b.v.get("turn")
	if x := b.chosen["turn"]; x != nil {
		turn = x
	}
	right := turn != nil && turn.word == "right"
	if (step.word("turn") == "right") != right {
		return -1
	}
	return 1
}

// demand returns the policy's demand for v, 0 where it declares none.
func (b *caseBuilder) demand(v *Values) float64 {
	if b.car == nil || b.car.Policy.Demand == nil {
		return 0
	}
	d := b.car.Policy.Demand.YawRate(v.Speed, v.Steer)
	if math.IsNaN(d) || math.IsInf(d, 0) {
		b.problem(b.v.node, fmt.Sprintf("the policy's demand has no bounds at %.4g m/s", v.Speed), "play another speed; the car file's understeer gradient is below 0")
		return 0
	}
	if d == 0 {
		return 0 // no negative zero
	}
	return d
}

// yawRate works out the yaw rate in rad/s. A baseline, which has no step, has
// it on demand unless over says otherwise.
func (b *caseBuilder) yawRate(v *Values, over, step *values, side float64) {
	share := 1.0
	x := over.get("yaw_rate")
	if step != nil {
		x = b.pick("yaw_rate", over, step)
	}
	if x != nil && !x.ofDemand {
		if x.number != 0 {
			v.YawRate = side * x.number
		}
		return
	}
	if x != nil {
		share = x.number
	}
	if v.Demand != 0 && share != 0 {
		v.YawRate = share * v.Demand
	}
	if b.car == nil || b.car.Policy.Demand != nil || v.Steer == 0 || v.Speed == 0 {
		return
	}
	at, what, remedy := b.v.node, "the baseline is played with the yaw rate on demand", "add baseline: {yaw_rate: 20 deg/s}, or baseline: none"
	if step != nil {
		what, remedy = "the yaw rate is a share of the demand", "write it in deg/s"
		if x != nil {
			at = x.node
		}
	}
	b.problem(at, what+", but the car's policy declares no demand", remedy+", or declare the demand in the car file")
}

// wheelRates returns the wheels that do not turn as the car moves.
func (b *caseBuilder) wheelRates(over, step *values) (rates [4]*float64) {
	x := b.pick("wheels", over, step)
	if x == nil {
		return rates
	}
	for _, w := range plant.Wheels {
		rates[w] = x.table.optional(w.String())
	}
	return rates
}
