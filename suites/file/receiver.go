package file

import (
	"cmp"
	"fmt"
	"math"
	"slices"

	"hilrig/plant"
	"hilrig/rig"
	"hilrig/rig/signal"
	"hilrig/stimulus/wire"
	"hilrig/suites/language"
)

// receiverForms are the two ways in which a receiver speaks.
var receiverForms = []language.Form{
	{Has: []string{"bus"}, Table: busReceiverTable},
	{Has: []string{"steer"}, Table: receiverTable},
}

var receiverTable = language.NewTable("a receiver", "", []language.Key{
	{Name: "steer", Kind: language.Group, Required: true, Table: steerChannelTable, Doc: "steering; what the pulse stands for is in the car file's steering table"},
	{Name: "throttle", Kind: language.Group, Required: true, Table: channelTable, Doc: "throttle"},
	{Name: "gain", Kind: language.Group, Required: true, Table: channelTable, Doc: "gain trim"},
})

var channelRateKey = language.Key{Name: "rate", Kind: language.Measure, Quantity: language.Frequency, Required: true, Least: "10 Hz", Most: "500 Hz", Example: "100 Hz", Doc: "pulses a second"}

var channelClipKeys = []language.Key{
	{Name: "least", Kind: language.Measure, Quantity: language.Duration, Least: "100 us", Most: "5 ms", Example: "800 us", Doc: "no pulse is shorter; left out: 800 us"},
	{Name: "most", Kind: language.Measure, Quantity: language.Duration, Least: "100 us", Most: "5 ms", Example: "2200 us", Doc: "no pulse is longer; left out: 2200 us"},
}

var steerChannelTable = language.NewTable("the steering channel", "", append([]language.Key{channelRateKey}, channelClipKeys...))

var channelTable = language.NewTable("a receiver channel", "", append([]language.Key{
	channelRateKey,
	{Name: "idle", Kind: language.Measure, Quantity: language.Duration, Required: true, Least: "100 us", Most: "5 ms", Example: "1000 us", Doc: "pulse that stands for 0 %"},
	{Name: "full", Kind: language.Measure, Quantity: language.Duration, Required: true, Least: "100 us", Most: "5 ms", Example: "2000 us", Doc: "pulse that stands for 100 %"},
}, channelClipKeys...))

var busReceiverTable = language.NewTable("a receiver on a bus", "", []language.Key{{Name: "bus", Kind: language.Group, Required: true, Table: busTable, Doc: "all channels on one serial line"}})

var busTable = language.NewTable("a receiver bus", "100 kbaud, 8 data bits, even parity, 2 stop bits; frames of 25 bytes: 0x0F, 16 channels of 11 bits, the lowest bit first, a byte of flags, an end byte.", []language.Key{
	{Name: "port", Kind: language.Text, Required: true, Example: "receiver_bus", Doc: "lower case with underscores; the one line that is driven for the receiver has this name, in what a board command is told to drive and in a dump of wires, and stands in the place of steer, throttle and gain"},
	{Name: "rate", Kind: language.Measure, Quantity: language.Frequency, Required: true, Least: "1 Hz", Most: "333 Hz", Example: "70 Hz", Doc: "frames a second"},
	{Name: "upright", Kind: language.Flag, Doc: "the line rests high; left out: no, it is inverted"},
	{Name: "steer", Kind: language.Group, Required: true, Table: busSteerTable, Doc: "steering"},
	{Name: "throttle", Kind: language.Group, Required: true, Table: busChannelTable, Doc: "throttle"},
	{Name: "gain", Kind: language.Group, Required: true, Table: busChannelTable, Doc: "gain trim"},
	{Name: "rest", Kind: language.Whole, Least: "0", Most: "2047", Example: "992", Doc: "counts of the other channels; left out: 992"},
	{Name: "flags", Kind: language.Whole, Least: "0", Most: "15", Doc: "bit 0 channel 17, 1 channel 18, 2 frame lost, 3 failsafe; left out: 0"},
	{Name: "end", Kind: language.Whole, Least: "0", Most: "255", Example: "0x00", Doc: "the last byte; left out: 0"},
	deviceKey, devicePinKey,
})

var busNumberKey = language.Key{Name: "channel", Kind: language.Whole, Required: true, Least: "1", Most: "16", Example: "1", Doc: "which of the 16 channels it is"}

var busSteerTable = language.NewTable("the steering channel of a bus", "What the pulses stand for is in the car file's steering table.", []language.Key{
	busNumberKey,
	{Name: "counts", Kind: language.Whole, Many: language.Two, Required: true, Least: "0", Most: "2047", Example: "1811", Doc: "two counts"},
	{Name: "pulses", Kind: language.Measure, Quantity: language.Duration, Many: language.Two, Required: true, Least: "0 us", Most: "5 ms", Example: "2012 us", Doc: "the pulses that the receiver would send the servo at these counts"},
})

var busChannelTable = language.NewTable("a channel of a receiver bus", "", []language.Key{
	busNumberKey,
	{Name: "idle", Kind: language.Whole, Required: true, Least: "0", Most: "2047", Example: "172", Doc: "counts that stand for 0 %"},
	{Name: "full", Kind: language.Whole, Required: true, Least: "0", Most: "2047", Example: "1811", Doc: "counts that stand for 100 %"},
})

// restCount is what a channel of a receiver bus has that carries nothing, its middle.
const restCount = 992

// receiver reads the receiver: pulses, or one bus.
func (r *reader) receiver(b *Bench, v *language.Mapping) {
	if v.Written("bus") {
		r.bus(b, v.Sub("bus"))
		return
	}
	b.Wiring.Steer = r.channel("steer", v.Sub("steer"))
	b.Wiring.Throttle = r.trim("throttle", v.Sub("throttle"))
	b.Wiring.Gain = r.trim("gain", v.Sub("gain"))
}

// bus reads the receiver's bus.
func (r *reader) bus(b *Bench, v *language.Mapping) {
	if !v.Has("port") {
		return
	}
	bus := &b.Wiring.Bus
	*bus = wire.Bus{
		Port: v.Word("port"), Upright: v.Flag("upright"),
		Flags: byte(v.Whole("flags")), End: byte(v.Whole("end")),
	}
	if v.Has("rate") {
		bus.Period = signal.FromSeconds(1 / v.Number("rate"))
	}
	for i := range bus.Rest {
		bus.Rest[i] = uint16(v.WholeOr("rest", restCount))
	}
	b.ports[bus.Port] = r.PlaceOf(v.NodeAt("port"))
	r.plainName(v.Get("port"))
	steer := v.Sub("steer")
	bus.Steer = wire.BusChannel{Number: int(steer.Whole("channel")), HighValue: 1}
	if x := steer.Get("counts"); x != nil {
		bus.Steer.Low, bus.Steer.High = int(x.List[0].Whole), int(x.List[1].Whole)
		if bus.Steer.Low == bus.Steer.High {
			r.Report(x.Node, "steer: both counts are the same", "give two counts")
		}
	}
	if x := steer.Get("pulses"); x != nil {
		b.SteerPulses = [2]signal.Time{signal.FromSeconds(x.List[0].Number), signal.FromSeconds(x.List[1].Number)}
		if b.SteerPulses[0] == b.SteerPulses[1] {
			r.Report(x.Node, "steer: both pulses are the same", "give two widths")
		}
	}
	bus.Throttle = r.busChannel("throttle", v.Sub("throttle"))
	bus.Gain = r.busChannel("gain", v.Sub("gain"))
	taken := map[int]string{}
	for _, name := range []string{"steer", "throttle", "gain"} {
		number := int(v.Sub(name).Whole("channel"))
		if other := taken[number]; number > 0 && other != "" {
			r.Report(v.Sub(name).NodeAt("channel"), fmt.Sprintf("channel %d carries %s already", number, other), "give each a channel of its own")
		}
		taken[number] = name
	}
}

// busChannel reads one channel of a bus.
func (r *reader) busChannel(name string, v *language.Mapping) wire.BusChannel {
	c := wire.BusChannel{Number: int(v.Whole("channel")), Low: int(v.Whole("idle")), High: int(v.Whole("full")), HighValue: 1}
	if x := v.Get("full"); x != nil && v.Has("idle") && c.Low == c.High {
		r.Report(x.Node, name+": idle and full are the same count", "give two counts")
	}
	return c
}

// The widths that a receiver pulse is clipped at where the file leaves them out.
const (
	leastWidth = 800 * signal.Microsecond
	mostWidth  = 2200 * signal.Microsecond
)

// channel reads the frames of one receiver channel, and the widths that its pulses are
// clipped at.
func (r *reader) channel(name string, v *language.Mapping) wire.Pulse {
	if !v.Has("rate") {
		return wire.Pulse{}
	}
	p := wire.Pulse{
		Frame:     signal.FromSeconds(1 / v.Number("rate")),
		HighValue: 1,
		Least:     v.Time("least"), Most: v.Time("most"),
	}
	rate := v.Get("rate")
	switch least, most := clips(p); {
	case least >= most:
		r.Report(v.Node, fmt.Sprintf("%s: no width lies between least %s and most %s", name, span(least), span(most)), "give a smaller least or a larger most")
	case most >= p.Frame:
		r.Report(rate.Node, fmt.Sprintf("%s: pulses of up to %s do not fit frames of %s", name, span(most), span(p.Frame)), "give a lower rate or a smaller most")
	}
	return p
}

// trim reads a receiver channel whose pulses go from idle to full.
func (r *reader) trim(name string, v *language.Mapping) wire.Pulse {
	p := r.channel(name, v)
	if p.Frame == 0 {
		return p
	}
	p.Low, p.High = v.Time("idle"), v.Time("full")
	least, most := clips(p)
	for _, key := range []string{"idle", "full"} {
		if x := v.Get(key); x != nil && (v.Time(key) < least || v.Time(key) > most) {
			r.Report(x.Node, fmt.Sprintf("%s: %s %s would be clipped", name, key, x.Node.Text), fmt.Sprintf("pulses are %s to %s wide: move it, or give least and most", span(least), span(most)))
		}
	}
	if v.Has("idle") && v.Has("full") && p.Low == p.High {
		r.Report(v.Get("full").Node, fmt.Sprintf("%s: idle and full are the same width", name), "give two widths")
	}
	return p
}

// clips returns the widths that a channel's pulses are clipped at.
func clips(p wire.Pulse) (least, most signal.Time) {
	return cmp.Or(p.Least, leastWidth), cmp.Or(p.Most, mostWidth)
}

// Complete returns the bench's wiring with the steering pulse, or the steering channel of its bus, set by the car:
// by its steering table, or, where the policy's demand says steer: linear, by the line through
// the table's mean wheel angles, as in firmware that takes the angle as linear in the
// pulse. The error says that the line has no slope.
func Complete(b *Bench, c *Car) (rig.Wiring, error) {
	w := b.Wiring
	points := c.Car.Steering.Points
	line := c.Car.Steering.Line()
	if line.Slope == 0 {
		return w, fmt.Errorf("%s: the steering table of %q has no slope; give two rows with different pulses and angles", c.Source.Path, c.Name)
	}
	if c.Car.Steering.ByTable {
		curve := steeringCurve(c.Car.Steering)
		w.Bus.Steer.Curve, w.Steer.Curve = curve, curve
	}
	if w.Bus.Port != "" {
		w.Bus.Steer.LowValue = line.AngleFor(b.SteerPulses[0].Seconds())
		w.Bus.Steer.HighValue = line.AngleFor(b.SteerPulses[1].Seconds())
		return w, nil
	}
	low, high := points[0].Pulse, points[len(points)-1].Pulse
	w.Steer.Low, w.Steer.High = signal.FromSeconds(low), signal.FromSeconds(high)
	w.Steer.LowValue, w.Steer.HighValue = line.AngleFor(low), line.AngleFor(high)
	return w, nil
}

// steeringCurve returns what a mean wheel angle becomes by a table, seen by the line through it; nil
// where the two are the same.
func steeringCurve(s plant.Steering) *wire.Curve {
	var points []wire.CurvePoint
	line := s.Line()
	same := true
	for _, p := range s.Points {
		mean, by := float64((p.Left+p.Right)/2), float64(line.AngleFor(p.Pulse))
		same = same && math.Abs(mean-by) < 1e-9
		points = append(points, wire.CurvePoint{Value: mean, Mapped: by})
	}
	if points[0].Value > points[len(points)-1].Value {
		slices.Reverse(points)
	}
	curve, ok := wire.NewCurve(points)
	if same || !ok {
		return nil
	}
	return curve
}
