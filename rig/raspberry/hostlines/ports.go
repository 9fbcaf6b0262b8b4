package hostlines

import (
	"errors"
	"fmt"
	"math"

	"hilrig/rig"
	"hilrig/rig/raspberry/realtime"
	"hilrig/rig/raspberry/serial"
	"hilrig/rig/signal"
	"hilrig/stimulus/wire"
)

// Port is one serial port: on a device, or its bytes become levels.
type Port struct {
	Device *serial.Port // nil: levels
	UART   wire.UART
	queue  *Queue
	edges  []signal.Edge
	busy   signal.Time // end of the last stop bit handed over
}

// OpenPorts opens the serial ports of the layout, whose devices write by the bench's clock.
// Writer is the scheduling of the goroutines that write to devices, serial.InTurns where the backend does
// that. Where it fails CloseDevices is to be called.
func (b *Bench) OpenPorts(devices map[string]string, clock func() signal.Time, writer realtime.Scheduling) error {
	for i, p := range b.layout.Ports {
		uart, err := wire.NewUART(p)
		if err != nil {
			return fmt.Errorf("%s: %w", b.name, err)
		}
		if int(p.Line) >= len(b.portOf) || b.layout.Lines[p.Line].Direction != signal.Drive || b.portOf[p.Line] >= 0 {
			return fmt.Errorf("%s: port %s needs a driven line of its own", b.name, p.Name)
		}
		if p.Asked {
			return fmt.Errorf("%s: port %s answers requests within microseconds, and a loop that waits for a tick cannot; play it on the simulated bench", b.name, p.Name)
		}
		one := Port{UART: uart}
		if device := devices[p.Name]; device != "" {
			if one.Device, err = serial.Open(p, device, clock, writer); err != nil {
				return fmt.Errorf("%s: %w", b.name, err)
			}
		} else {
			one.queue = realtime.NewRing[Change](15)
			b.Queues = append(b.Queues, one.queue)
		}
		b.portOf[p.Line] = int16(i)
		b.Ports = append(b.Ports, one)
	}
	return nil
}

// PortOf returns the port whose line it is; nil where it is no port's.
func (b *Bench) PortOf(line signal.Line) *Port {
	if n := b.portOf[line]; n >= 0 {
		return &b.Ports[n]
	}
	return nil
}

// eachDevice does something with every device.
func (b *Bench) eachDevice(do func(*serial.Port) error) error {
	var errs []error
	for i := range b.Ports {
		if d := b.Ports[i].Device; d != nil {
			errs = append(errs, do(d))
		}
	}
	return errors.Join(errs...)
}

// CloseDevices gives devices back.
func (b *Bench) CloseDevices() error { return b.eachDevice((*serial.Port).Close) }

// Send puts data on a port from at on, or after the bytes still under way, and
// returns the end of the last stop bit. A time before what was last waited for is
// of the past.
func (b *Bench) Send(p signal.Port, at signal.Time, data []byte) (end signal.Time, err error) {
	if err := b.failed(); err != nil {
		return 0, err
	}
	switch {
	case int(p) >= len(b.Ports):
		return 0, fmt.Errorf("%s: send at %v on port %d; there are %d", b.name, at, p, len(b.Ports))
	case at < b.waited || at > math.MaxInt64/2:
		return 0, fmt.Errorf("%s: send on %s at %v, which is past: %v was waited for", b.name, b.layout.Ports[p].Name, at, b.waited)
	}
	o := &b.Ports[p]
	if o.Device != nil {
		b.backend.Present()
		if end, err = o.Device.Send(at, data); err != nil {
			return 0, b.at(err)
		}
		return end, nil
	}
	edges, end := o.UART.Append(o.edges[:0], max(at, o.busy), data)
	o.edges = edges
	if !o.queue.Room(len(edges)) {
		return 0, fmt.Errorf("%s: send on %s at %v: too much is still under way", b.name, b.layout.Ports[p].Name, at)
	}
	b.push(o.queue, edges)
	o.busy = end
	return end, nil
}

// Disturb fails: what a port sends is up to its device or to the plan of its edges.
func (b *Bench) Disturb(signal.Port, signal.Disturber) error { return rig.ErrNoDisturbing }
