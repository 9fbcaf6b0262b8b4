package registers

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

// port is one serial port: on a device, or its bytes become levels.
type port struct {
	device *serial.Port // nil: levels
	uart   wire.UART
	queue  *realtime.Ring[change]
	edges  []signal.Edge
	busy   signal.Time // end of the last stop bit handed over
}

func (b *Bench) openPorts(devices map[string]string, priority int) error {
	for i, p := range b.layout.Ports {
		uart, err := wire.NewUART(p)
		if err != nil {
			return fmt.Errorf("bench on pins: %w", err)
		}
		if int(p.Line) >= len(b.portOf) || b.layout.Lines[p.Line].Direction != signal.Drive || b.portOf[p.Line] >= 0 {
			return fmt.Errorf("bench on pins: port %s needs a driven line of its own", p.Name)
		}
		if p.Asked {
			return fmt.Errorf("bench on pins: port %s answers requests within microseconds, and a loop that waits for a tick cannot; play it on the simulated bench", p.Name)
		}
		one := port{uart: uart}
		if device := devices[p.Name]; device != "" {
			if one.device, err = serial.Open(p, device, b.clock.now, b.writer(priority/2)); err != nil {
				return fmt.Errorf("bench on pins: %w", err)
			}
			if b.turns != nil {
				b.turns.ports = append(b.turns.ports, one.device)
			}
		} else {
			one.queue = realtime.NewRing[change](15)
			b.loop.player.queues = append(b.loop.player.queues, one.queue)
		}
		b.portOf[p.Line] = int16(i)
		b.ports = append(b.ports, one)
	}
	return nil
}

// writer returns the priority of the goroutines that write to devices, InTurns where the loop
// does that.
func (b *Bench) writer(priority int) int {
	if b.turns != nil {
		return serial.InTurns
	}
	return priority
}

// onDevice says whether a line is that of a port on a device, which drives it.
func (b *Bench) onDevice(line signal.Line) bool {
	p := b.portOf[line]
	return p >= 0 && b.ports[p].device != nil
}

// safePorts drops what devices have not sent.
func (b *Bench) safePorts() error {
	var errs []error
	for i := range b.ports {
		if d := b.ports[i].device; d != nil {
			errs = append(errs, d.Safe())
		}
	}
	return errors.Join(errs...)
}

// closePorts gives devices back.
func (b *Bench) closePorts() error {
	var errs []error
	for i := range b.ports {
		if d := b.ports[i].device; d != nil {
			errs = append(errs, d.Close())
		}
	}
	return errors.Join(errs...)
}

// Send puts data on a port from at on, or after the bytes still under way, and
// returns the end of the last stop bit. A time before what was last waited for is
// of the past.
func (b *Bench) Send(p signal.Port, at signal.Time, data []byte) (end signal.Time, err error) {
	switch {
	case b.closed:
		return 0, errClosed
	case int(p) >= len(b.ports):
		return 0, fmt.Errorf("bench on pins: send at %v on port %d; there are %d", at, p, len(b.ports))
	case at < b.waited || at > math.MaxInt64/2:
		return 0, fmt.Errorf("bench on pins: send on %s at %v, which is past: %v was waited for", b.layout.Ports[p].Name, at, b.waited)
	}
	b.present()
	o := &b.ports[p]
	if o.device != nil {
		if end, err = o.device.Send(at, data); err != nil {
			return 0, fmt.Errorf("bench on pins, at %v: %w", b.Now(), err)
		}
		return end, nil
	}
	edges, end := o.uart.Append(o.edges[:0], max(at, o.busy), data)
	o.edges = edges
	if !o.queue.Room(len(edges)) {
		return 0, fmt.Errorf("bench on pins: send on %s at %v: too much is still under way", b.layout.Ports[p].Name, at)
	}
	b.push(o.queue, edges)
	o.busy = end
	return end, nil
}

// Disturb fails: what a port sends is up to its device or to the plan of its edges.
func (b *Bench) Disturb(signal.Port, signal.Disturber) error { return rig.ErrNoDisturbing }
