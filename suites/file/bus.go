package file

import (
	"fmt"

	"hilrig/rig/signal"
	"hilrig/stimulus/wire"
	"hilrig/suites/language"
)

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
	for _, one := range []struct {
		name   string
		number int
	}{{"steer", bus.Steer.Number}, {"throttle", bus.Throttle.Number}, {"gain", bus.Gain.Number}} {
		if x := v.Sub(one.name).Get("channel"); x != nil && taken[one.number] != "" {
			r.Report(x.Node, fmt.Sprintf("channel %d carries %s already", one.number, taken[one.number]), "give each a channel of its own")
		}
		taken[one.number] = one.name
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
