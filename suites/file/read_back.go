package file

import (
	"fmt"

	"hilrig/rig/raspberry/header"
	"hilrig/rig/trace"
)

// unread reports trials whose stimulus goes out on a port of a real bench that is not
// read back: a serial device begins when it likes, and nobody would know when
// the stimulus was on the wire.
func (p *player) unread(s *Step) {
	if s.Trials == nil || p.bench.Kind != "raspberry" {
		return
	}
	port := p.bench.carrier(s.Trials.Channel)
	if port == "" || p.bench.readsBack(port) {
		return
	}
	p.at(s.Place, Mistake, fmt.Sprintf("trials of %s go out on port %s, whose wire is not read back: when they reach the board is not known", s.Trials.Channel, port),
		"put the port on a USB adapter, lead what that sends to a free pin too, and write it under the port: pin: GPIO20")
}

// readsBack says whether the wire of a port is read: by its pin, which on a computer
// whose lines the kernel hands out is either the port's or a line to be read.
func (b *Bench) readsBack(port string) bool {
	handedOut := b.Computer != header.NoPi && b.Computer.Limits().Way == header.CharacterDevice
	return b.Pins[port] != 0 && (!handedOut || onAdapter(b.Devices[port]))
}

// carrier returns the port whose messages take a channel to the board; "": no port's.
// Of several it is the first: the rig lists what that one says.
func (b *Bench) carrier(c trace.Channel) string {
	switch c {
	case trace.Steer, trace.Throttle, trace.Gain:
		return b.Wiring.Bus.Port
	}
	for _, f := range b.Wiring.Frames {
		for _, x := range f.Carrying() {
			if x.Channel == c.String() {
				return f.Port
			}
		}
	}
	return ""
}
