package file

import (
	"fmt"

	"hilrig/rig/raspberry/pinout"
	"hilrig/rig/trace"
	"hilrig/suites/language"
)

// unread reports trials whose stimulus goes out on a port of a real bench that is not
// read back.
func (p *suiteChecker) unread(s *Step) {
	if s.Trials == nil {
		return
	}
	if q, ok := p.bench.Unread(s.Trials.Channel); ok {
		p.at(s.Place, language.Mistake, q.Message, q.Remedy)
	}
}

// Unread says whether trials of a channel cannot be timed on the bench, and why, at its
// port's place: they go out on a port of a real bench that is not read back. A serial
// device begins when it likes, so that the time at which they were on the wire stays unknown.
func (b *Bench) Unread(c trace.Channel) (p language.Problem, unread bool) {
	if b.Kind != "raspberry" {
		return p, false
	}
	port := b.carrier(c)
	if port == "" || b.readsBack(port) {
		return p, false
	}
	return b.Source.Shown(language.Problem{
		Place: b.ports[port], Value: port,
		Message: fmt.Sprintf("trials of %s go out on port %s, whose wire is not read back: when they reach the board is not known", c, port),
		Remedy:  "put the port on a USB adapter, lead what that sends to a free pin too, and write it under the port: pin: GPIO20",
	}), true
}

// readsBack says whether the wire of a port is read: by its pin, which on a computer
// whose lines the kernel hands out is either the port's or a line to be read.
func (b *Bench) readsBack(port string) bool {
	handedOut := b.Computer != pinout.NoPi && b.Computer.Limits().Access == pinout.CharacterDevice
	return b.Pins[port] != 0 && (!handedOut || pinout.OnAdapter(b.Devices[port]))
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
