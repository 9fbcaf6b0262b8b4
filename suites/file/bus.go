package file

import (
	"fmt"

	"hilrig/rig/signal"
	"hilrig/stimulus/wire"
)

// restCount is what a channel of a receiver bus has that carries nothing, its middle.
const restCount = 992

// receiver reads the receiver: pulses, or one bus.
func (r *reader) receiver(b *Bench, v *values) {
	if v.written("bus") {
		r.bus(b, v.sub("bus"))
		return
	}
	b.Wiring.Steer = r.channel("steer", v.sub("steer"))
	b.Wiring.Throttle = r.channel("throttle", v.sub("throttle"))
	b.Wiring.Gain = r.channel("gain", v.sub("gain"))
}

// bus reads the receiver's bus.
func (r *reader) bus(b *Bench, v *values) {
	if !v.has("port") {
		return
	}
	bus := &b.Wiring.Bus
	*bus = wire.Bus{
		Port: v.word("port"), Upright: v.flag("upright"),
		Flags: byte(v.whole("flags")), End: byte(v.whole("end")),
	}
	if v.has("rate") {
		bus.Period = signal.FromSeconds(1 / v.number("rate"))
	}
	rest := uint16(restCount)
	if v.has("rest") {
		rest = uint16(v.whole("rest"))
	}
	for i := range bus.Rest {
		bus.Rest[i] = rest
	}
	b.ports[bus.Port] = r.standsAt(v.get("port"))
	r.plainName(v.get("port"))
	steer := v.sub("steer")
	bus.Steer = wire.BusChannel{Number: int(steer.whole("channel")), HighValue: 1}
	if x := steer.get("counts"); x != nil {
		bus.Steer.Low, bus.Steer.High = int(x.list[0].whole), int(x.list[1].whole)
		if bus.Steer.Low == bus.Steer.High {
			r.problem(x.node, "steer: both counts are the same", "give two counts")
		}
	}
	if x := steer.get("pulses"); x != nil {
		b.SteerPulses = [2]signal.Time{signal.FromSeconds(x.list[0].number), signal.FromSeconds(x.list[1].number)}
		if b.SteerPulses[0] == b.SteerPulses[1] {
			r.problem(x.node, "steer: both pulses are the same", "give two widths")
		}
	}
	bus.Throttle = r.busChannel("throttle", v.sub("throttle"))
	bus.Gain = r.busChannel("gain", v.sub("gain"))
	taken := map[int]string{}
	for _, one := range []struct {
		name   string
		number int
	}{{"steer", bus.Steer.Number}, {"throttle", bus.Throttle.Number}, {"gain", bus.Gain.Number}} {
		if x := v.sub(one.name).get("channel"); x != nil && taken[one.number] != "" {
			r.problem(x.node, fmt.Sprintf("channel %d carries %s already", one.number, taken[one.number]), "give each a channel of its own")
		}
		taken[one.number] = one.name
	}
}

// busChannel reads one channel of a bus.
func (r *reader) busChannel(name string, v *values) wire.BusChannel {
	c := wire.BusChannel{Number: int(v.whole("channel")), Low: int(v.whole("idle")), High: int(v.whole("full")), HighValue: 1}
	if x := v.get("full"); x != nil && v.has("idle") && c.Low == c.High {
		r.problem(x.node, name+": idle and full are the same count", "give two counts")
	}
	return c
}
