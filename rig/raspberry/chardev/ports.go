//go:build linux

package chardev

import (
	"errors"
	"fmt"
	"math"
	"slices"

	"hilrig/rig"
	"hilrig/rig/raspberry/realtime"
	"hilrig/rig/raspberry/serial"
	"hilrig/rig/signal"
	"hilrig/stimulus/wire"
)

// charPort is one serial port: on a device, or its bytes become levels.
type charPort struct {
	device *serial.Port // nil: levels
	uart   wire.UART
	queue  *realtime.Ring[charChange]
	edges  []signal.Edge
	busy   signal.Time // end of the last stop bit handed over
}

func (b *CharBench) openPorts(s CharSettings) error {
	for i, p := range b.layout.Ports {
		uart, err := wire.NewUART(p)
		if err != nil {
			return fmt.Errorf("bench on the character device: %w", err)
		}
		if int(p.Line) >= len(b.portOf) || b.layout.Lines[p.Line].Direction != signal.Drive || b.portOf[p.Line] >= 0 {
			return fmt.Errorf("bench on the character device: port %s needs a driven line of its own", p.Name)
		}
		if p.Asked {
			return fmt.Errorf("bench on the character device: port %s answers requests within microseconds, and a loop that waits for a tick cannot; play it on the simulated bench", p.Name)
		}
		one := charPort{uart: uart}
		if device := s.Devices[p.Name]; device != "" {
			if one.device, err = serial.Open(p, device, b.clock, s.Scheduling.Priority/2); err != nil {
				return fmt.Errorf("bench on the character device: %w", err)
			}
		} else {
			one.queue = realtime.NewRing[charChange](15)
			b.play.queues = append(b.play.queues, one.queue)
		}
		b.portOf[p.Line] = int16(i)
		b.ports = append(b.ports, one)
	}
	return nil
}

// safePorts drops what devices have not sent.
func (b *CharBench) safePorts() error {
	var failed []error
	for i := range b.ports {
		if d := b.ports[i].device; d != nil {
			failed = append(failed, d.Safe())
		}
	}
	return errors.Join(failed...)
}

// closePorts gives devices back.
func (b *CharBench) closePorts() error {
	var failed []error
	for i := range b.ports {
		if d := b.ports[i].device; d != nil {
			failed = append(failed, d.Close())
		}
	}
	return errors.Join(failed...)
}

// Send puts data on a port from at on, or after the bytes still under way, and
// returns the end of the last stop bit. A time before what was last waited for is
// of the past.
func (b *CharBench) Send(p signal.Port, at signal.Time, data []byte) (end signal.Time, err error) {
	if err := b.failed(); err != nil {
		return 0, err
	}
	switch {
	case int(p) >= len(b.ports):
		return 0, fmt.Errorf("bench on the character device: send at %v on port %d; there are %d", at, p, len(b.ports))
	case at < b.waited || at > math.MaxInt64/2:
		return 0, fmt.Errorf("bench on the character device: send on %s at %v, which is past: %v was waited for", b.layout.Ports[p].Name, at, b.waited)
	}
	o := &b.ports[p]
	if o.device != nil {
		if end, err = o.device.Send(at, data); err != nil {
			return 0, fmt.Errorf("bench on the character device, at %v: %w", b.clock(), err)
		}
		return end, nil
	}
	edges, end := o.uart.Append(o.edges[:0], max(at, o.busy), data)
	o.edges = edges
	if !o.queue.Room(len(edges)) {
		return 0, fmt.Errorf("bench on the character device: send on %s at %v: too much is still under way", b.layout.Ports[p].Name, at)
	}
	b.push(o.queue, edges)
	o.busy = end
	return end, nil
}

// Exact says that not every edge is on its wire when it is due.
func (b *CharBench) Exact() bool { return false }

// Samples says whether ReadBack tells of a driven line: of all but those of ports on
// devices that no pin listens to.
func (b *CharBench) Samples(line signal.Line) bool {
	return int(line) < len(b.bit) && (b.bit[line] != 0 || b.back != nil && slices.Contains(b.back.lines, line))
}

// LateStretches appends nothing: whatever the bench plays itself it reads back.
func (b *CharBench) LateStretches(dst []signal.LateStretch) []signal.LateStretch { return dst }

// ReadBack appends the edges of driven lines, port levels included, that were put out
// since the last call: each at the end of the kernel's call, and late by as long as that
// took. Nothing looks at those wires. The wire of a port on a device is listened to like
// a captured line where it has a pin, and is told with the levels that the board sees.
func (b *CharBench) ReadBack(dst []signal.Edge) ([]signal.Edge, error) {
	err := b.failed()
	if err != nil {
		return dst, err
	}
	first, until := len(dst), signal.Time(math.MaxInt64)
	var heard error
	if b.back != nil {
		dst, until, heard = b.back.takeUpTo(dst)
		for i := range dst[first:] {
			e := &dst[first+i]
			if b.ports[b.portOf[e.Line]].uart.Inverted { // the inverter stands behind the pin
				e.Level = !e.Level
			}
		}
	}
	dst, err = b.play.read(dst, until)
	if b.back != nil {
		slices.SortStableFunc(dst[first:], func(a, b signal.Edge) int { return int(max(-1, min(1, a.At-b.At))) })
	}
	if err = errors.Join(heard, err); err != nil {
		err = fmt.Errorf("bench on the character device, at %v: %w", b.clock(), err)
	}
	return dst, err
}

// Disturb fails: what a port sends is up to its device or to the plan of its edges.
func (b *CharBench) Disturb(signal.Port, signal.Disturber) error { return rig.ErrNoDisturbing }
