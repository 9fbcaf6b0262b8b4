package file

import (
	"fmt"
	"math"

	"hilrig/rig/signal"
	"hilrig/rig/trace"
	"hilrig/stimulus"
)

// plays returns the value that channel c begins a step with, 0 without x, and
// adds the shape that x declares to the step, unless it is a baseline. si
// returns one number of x in the SI unit of the channel.
func (b *caseBuilder) plays(s *Step, c trace.Channel, x *value, si func(*value) float64) float64 {
	switch {
	case x == nil:
		return 0
	case x.table == nil:
		return si(x)
	}
	shape := b.shape(x, si)
	if shape == nil {
		return 0
	}
	b.bounds(c, x, shape)
	if !s.Baseline {
		s.Shapes = append(s.Shapes, Moving{Channel: c, Shape: shape})
	}
	return shape.At(0)
}

// shape reads a shape; nil where a part of it is wrong and was reported.
func (b *caseBuilder) shape(x *value, si func(*value) float64) stimulus.Shape {
	v := x.table
	number := func(name string) float64 {
		if y := v.get(name); y != nil {
			return si(y)
		}
		return 0
	}
	two := func(name string) (first, second float64) {
		if y := v.get(name); y != nil {
			return si(&y.list[0]), si(&y.list[1])
		}
		return 0, 0
	}
	switch {
	case v.has("ramp"):
		from, to := two("ramp")
		return stimulus.Ramp{From: from, To: to, Over: v.time("over")}
	case v.has("step"):
		before, after := two("step")
		return stimulus.Step{Before: before, After: after, When: v.time("after")}
	case v.has("sine"):
		return stimulus.Sine{Amplitude: number("sine"), About: number("about"), Frequency: v.number("at"), Cycles: v.number("cycles")}
	case v.has("chirp"):
		return stimulus.Chirp{Amplitude: number("chirp"), About: number("about"), From: v.number("from"), To: v.number("to"), Over: v.time("over")}
	case v.has("sine_with_dwell") && v.has("at"):
		return stimulus.SineWithDwell{Amplitude: number("sine_with_dwell"), About: number("about"), Frequency: v.number("at"), Dwell: v.time("dwell")}
	case v.has("table"):
		return b.points(v.list("table"), si)
	}
	return nil
}

// points reads the points of a table, and reports times that do not rise.
func (b *caseBuilder) points(list []value, si func(*value) float64) stimulus.Shape {
	var t stimulus.Table
	for i := range list {
		at := signal.FromSeconds(list[i].list[0].number)
		if n := len(t.Times); n > 0 && at <= t.Times[n-1] {
			b.problem(list[i].list[0].node, fmt.Sprintf("table: %s does not come after the point before it", list[i].list[0].node.text), "write the points by rising time")
			return nil
		}
		t.Times = append(t.Times, at)
		t.Values = append(t.Values, si(&list[i].list[1]))
	}
	return t
}

// takesDemand tells whether any number of a value is a share of the demand.
func (x *value) takesDemand() bool {
	if x.ofDemand {
		return true
	}
	for i := range x.list {
		if x.list[i].takesDemand() {
			return true
		}
	}
	if x.table != nil {
		for _, y := range x.table.of {
			if !y.bad && y.takesDemand() {
				return true
			}
		}
	}
	return false
}

// bounds reports a shape that goes beyond what its channel may be.
func (b *caseBuilder) bounds(c trace.Channel, x *value, shape stimulus.Shape) {
	key := heldKey(c)
	low, high := spanOf(shape)
	slack := float64(1e-9 * key.bound(key.Most))
	if low < key.bound(key.Least)-slack || high > key.bound(key.Most)+slack {
		b.problem(x.node, fmt.Sprintf("%s goes from %s to %s, which is out of range", key.Name, key.Quantity.Format(low), key.Quantity.Format(high)),
			"keep it within "+key.Least+" to "+key.Most)
	}
}

// heldKey returns the key that a played channel is written at.
func heldKey(c trace.Channel) *Key {
	for i := range stimulusKeys {
		if stimulusKeys[i].Name == c.String() {
			return &stimulusKeys[i]
		}
	}
	return &wheelRateKeys[c-trace.WheelFrontLeft]
}

// spanOf returns the least and the greatest value that a shape may take.
func spanOf(shape stimulus.Shape) (low, high float64) {
	around := func(about, amplitude float64) (float64, float64) {
		a := math.Abs(amplitude)
		return about - a, about + a
	}
	switch s := shape.(type) {
	case stimulus.Ramp:
		return min(s.From, s.To), max(s.From, s.To)
	case stimulus.Step:
		return min(s.Before, s.After), max(s.Before, s.After)
	case stimulus.Sine:
		return around(s.About, s.Amplitude)
	case stimulus.Chirp:
		return around(s.About, s.Amplitude)
	case stimulus.SineWithDwell:
		return around(s.About, s.Amplitude)
	case stimulus.Table:
		return s.Span()
	}
	return shape.At(0), shape.At(0)
}
