package file

import (
	"fmt"
	"math"
	"slices"
	"strings"

	"hilrig/rig/signal"
	"hilrig/rig/trace"
	"hilrig/stimulus"
	"hilrig/suites/language"
)

// shapesOf declares the shapes of the value at k, whose numbers are of k's own
// quantity and within its bounds.
func shapesOf(k language.Key) []language.Form {
	one := func(name, doc string, required bool) language.Key {
		x := k
		x.Forms = nil
		x.Name, x.Doc, x.Required = name, doc, required
		return x
	}
	many := func(x language.Key, m language.Many) language.Key {
		x.Many = m
		return x
	}
	amplitude := func(name string) language.Key {
		x := one(name, "how far it goes to either side of the middle; below 0 it begins downwards", true)
		if !strings.HasPrefix(x.Least, "-") { // a swing may begin downwards all the same
			x.Least = "-" + x.Most
		}
		return x
	}
	about := one("about", "the middle; left out: 0", false)
	form := func(name, doc string, keys ...language.Key) language.Form {
		return language.Form{Has: []string{name}, Table: language.NewTable("a "+strings.ReplaceAll(name, "_", " ")+" of "+k.Name, doc, keys)}
	}
	points := many(one("table", "times from the step's beginning, rising, each with its value", true), language.List)
	points.Kind, points.Example = language.Point, ""
	return []language.Form{
		form("ramp", "from one value to another in a straight line", many(one("ramp", "first and last value", true), language.Two), spanKey("over", "how long it takes")),
		form("step", "one value, then another at once", many(one("step", "value before and after", true), language.Two), spanKey("after", "when it steps, from the step's beginning")),
		form("sine", "swings about a middle, beginning there", amplitude("sine"), rateKey("at", "swings a second"), about,
			language.Key{Name: "cycles", Kind: language.Measure, Quantity: language.Factor, Least: "0.25", Most: "100000", Example: "3", Doc: "swings, after which it stays at the middle; left out: no end"}),
		form("chirp", "swings whose frequency goes evenly from one value to another", amplitude("chirp"), rateKey("from", "frequency at first"), risen(rateKey("to", "frequency at last")), spanKey("over", "how long it takes"), about),
		form("sine_with_dwell", "one swing with a pause at its second peak", amplitude("sine_with_dwell"), rateKey("at", "frequency of the swing"), spanKey("dwell", "the pause"), about),
		form("table", "straight lines from point to point, the last value for good", points),
	}
}

func spanKey(name, doc string) language.Key {
	return language.Key{Name: name, Kind: language.Measure, Quantity: language.Duration, Required: true, Least: "0 ms", Most: "10 min", Example: "200 ms", Doc: doc}
}

func rateKey(name, doc string) language.Key {
	return language.Key{Name: name, Kind: language.Measure, Quantity: language.Frequency, Required: true, Least: "0.01 Hz", Most: "100 Hz", Example: "1 Hz", Doc: doc}
}

// risen returns a frequency's key with an example above that of others.
func risen(k language.Key) language.Key {
	k.Example = "4 Hz"
	return k
}

// shapedAll returns the keys with the shapes that may stand for their values, besides other forms.
func shapedAll(keys []language.Key) []language.Key {
	return changed(keys, func(k *language.Key) { k.Forms = append(slices.Clip(k.Forms), shapesOf(*k)...) })
}

// begin returns the value that channel c begins a step with, 0 without x, and
// adds the shape that x declares to the step, unless it is a baseline. si
// returns one number of x in the SI unit of the channel.
func (b *caseBuilder) begin(s *Step, c trace.Channel, x *language.Value, si func(*language.Value) float64) float64 {
	switch {
	case x == nil:
		return 0
	case isPoint(x):
		return s.point(c, x, si)
	case x.Mapping == nil:
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
func (b *caseBuilder) shape(x *language.Value, si func(*language.Value) float64) stimulus.Shape {
	v := x.Mapping
	number := func(name string) float64 {
		if y := v.Get(name); y != nil {
			return si(y)
		}
		return 0
	}
	two := func(name string) (first, second float64) {
		if y := v.Get(name); y != nil {
			return si(&y.List[0]), si(&y.List[1])
		}
		return 0, 0
	}
	switch {
	case v.Has("ramp"):
		from, to := two("ramp")
		return stimulus.Ramp{From: from, To: to, Over: v.Time("over")}
	case v.Has("step"):
		before, after := two("step")
		return stimulus.Step{Before: before, After: after, When: v.Time("after")}
	case v.Has("sine"):
		return stimulus.Sine{Amplitude: number("sine"), About: number("about"), Frequency: v.Number("at"), Cycles: v.Number("cycles")}
	case v.Has("chirp"):
		return stimulus.Chirp{Amplitude: number("chirp"), About: number("about"), From: v.Number("from"), To: v.Number("to"), Over: v.Time("over")}
	case v.Has("sine_with_dwell") && v.Has("at"):
		return stimulus.SineWithDwell{Amplitude: number("sine_with_dwell"), About: number("about"), Frequency: v.Number("at"), Dwell: v.Time("dwell")}
	case v.Has("table"):
		return b.points(v.List("table"), si)
	}
	return nil
}

// points reads the points of a table, and reports times that do not rise.
func (b *caseBuilder) points(list []language.Value, si func(*language.Value) float64) stimulus.Shape {
	var t stimulus.Table
	for i := range list {
		at := signal.FromSeconds(list[i].List[0].Number)
		if n := len(t.Times); n > 0 && at <= t.Times[n-1] {
			b.Report(list[i].List[0].Node, fmt.Sprintf("table: %s does not come after the point before it", list[i].List[0].Node.Text), "write the points by rising time")
			return nil
		}
		t.Times = append(t.Times, at)
		t.Values = append(t.Values, si(&list[i].List[1]))
	}
	return t
}

// isShareOfDemand says whether any number of a value is a share of the demand.
func isShareOfDemand(x *language.Value) bool {
	if x.Relative {
		return true
	}
	for i := range x.List {
		if isShareOfDemand(&x.List[i]) {
			return true
		}
	}
	if x.Mapping != nil {
		for _, y := range x.Mapping.Values {
			if !y.Bad && isShareOfDemand(y) {
				return true
			}
		}
	}
	return false
}

// bounds reports a shape that goes beyond what its channel may be.
func (b *caseBuilder) bounds(c trace.Channel, x *language.Value, shape stimulus.Shape) {
	key := heldKey(c)
	low, high := spanOf(shape)
	slack := float64(1e-9 * key.Bound(key.Most))
	if low < key.Bound(key.Least)-slack || high > key.Bound(key.Most)+slack {
		b.Report(x.Node, fmt.Sprintf("%s goes from %s to %s, which is out of range", key.Name, key.Quantity.Format(low), key.Quantity.Format(high)),
			"keep it within "+key.Least+" to "+key.Most)
	}
}

// heldKey returns the key that a played channel is written at.
func heldKey(c trace.Channel) *language.Key {
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
