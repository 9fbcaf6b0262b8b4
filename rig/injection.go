package rig

import (
	"fmt"

	"hilrig/plant"
	"hilrig/plant/portable"
	"hilrig/rig/signal"
	"hilrig/rig/trace"
	"hilrig/stimulus"
	"hilrig/stimulus/wire"
)

// injection puts a program's faults on the wires: on the values that they carry, on
// single lines of encoders, and on the edges of a wire.
type injection struct {
	*drivers
	layout signal.Layout
	tick   signal.Time
	wires  [trace.Channels]float64 // what the wires carry in this tick
	noise  portable.Noise          // of noisy wires
	faults []fault
	lines  brokenLines
	disturbances
}

func newInjection(d *drivers, layout signal.Layout, tick signal.Time, seed uint64) injection {
	return injection{
		drivers: d, layout: layout, tick: tick, noise: portable.NewNoise(seed, "noisy wires"),
		lines: brokenLines{line: make([]brokenLine, len(layout.Lines))},
	}
}

// wireNamed finds a wire by its name.
func (inj *injection) wireNamed(name string) (wireRef, error) {
	for i, p := range inj.pulse {
		if p.channel.String() == name {
			return wireRef{kind: receiverWire, index: i}, nil
		}
	}
	for i, w := range plant.Wheels {
		if w.String() == name {
			return wireRef{kind: encoderWire, index: i}, nil
		}
	}
	for i := range inj.message {
		if inj.message[i].name == name {
			return wireRef{kind: serialWire, index: i}, nil
		}
	}
	for i, l := range inj.layout.Lines {
		if l.Name == name && l.Direction == signal.Drive {
			return wireRef{kind: encoderLine, index: i}, nil
		}
	}
	return wireRef{}, fmt.Errorf("no wire %q for a fault to be on; use steer, throttle, gain, a wheel, or a serial port of the bench", name)
}

// wireOf finds the wire of a fault, and on a serial one the message that carries what
// the fault falls on.
func (inj *injection) wireOf(f *stimulus.Fault) (wireRef, error) {
	w, err := inj.wireNamed(f.Wire)
	if err != nil || f.Channel == "" {
		return w, err
	}
	for i := range inj.message {
		m := &inj.message[i]
		if w.kind != serialWire || m.port != inj.message[w.index].port {
			continue
		}
		for k, c := range m.channels {
			if c.String() == f.Channel {
				return wireRef{serialWire, i, k}, nil
			}
		}
	}
	return w, fmt.Errorf("wire %q carries no %s for a fault to fall on; name a channel of its messages, or none", f.Wire, f.Channel)
}

// prepare finds the wires of the faults of a program that begins at start.
func (inj *injection) prepare(p *stimulus.Program, start signal.Time) error {
	inj.faults = inj.faults[:0]
	inj.lines.watching = inj.lines.unmended()
	inj.calmDown()
	for _, f := range p.Faults {
		w, err := inj.wireOf(&f)
		if err != nil {
			return err
		}
		if f.Kind == stimulus.Glitch || f.Kind == stimulus.Jitter {
			if err := inj.prepareDisturbance(&f, w, start); err != nil {
				return err
			}
			continue
		}
		one := fault{Fault: f, wire: w, left: max(1, f.Frames)}
		switch f.Kind {
		case stimulus.Swapped:
			if one.with, err = inj.wireNamed(f.With); err != nil {
				return err
			}
			if one.with.kind != w.kind || w.kind == serialWire || w.kind == encoderLine {
				return fmt.Errorf("wires %q and %q cannot be swapped; swap two receiver channels or two encoders", f.Wire, f.With)
			}
		case stimulus.Delayed:
			one.past = make([]float64, max(1, int(signal.FromSeconds(f.By)/inj.tick)))
		case stimulus.WrongChecksum:
			if w.kind != serialWire || !inj.checked(w) {
				return fmt.Errorf("wire %q carries no checksum that could be wrong; use a serial port whose frame has one", f.Wire)
			}
		case stimulus.FailsafeFlag:
			if w.kind != serialWire && w.kind != receiverWire || !some(inj.carriers(w), (*wire.FrameEncoder).CanFlag) {
				return fmt.Errorf("wire %q carries no failsafe flag that could be set; use a channel of a receiver's bus", f.Wire)
			}
		case stimulus.BadPulse:
			if w.kind != receiverWire || inj.pulse[w.index].encoder == nil || f.Width <= 0 {
				return fmt.Errorf("a bad pulse of %v on wire %q; use a receiver's channel that has pulses, and a width above 0", f.Width, f.Wire)
			}
		case stimulus.SequenceStuck:
			if w.kind != serialWire || !some(inj.onPort(w), (*wire.FrameEncoder).Counts) {
				return fmt.Errorf("wire %q carries no counter that could stand still; use a serial port whose frames count", f.Wire)
			}
		}
		if w.kind == encoderLine && !inj.layout.Lines[w.index].Role.WheelSensor() {
			return fmt.Errorf("line %q cannot break alone; use a line of an encoder", f.Wire)
		}
		if w.kind == encoderLine && f.Kind != stimulus.Lost && f.Kind != stimulus.Stuck {
			return fmt.Errorf("line %q can be lost or stuck, not %s; name the wheel for that", f.Wire, f.Kind)
		}
		if w.kind == encoderLine {
			inj.watchLines()
		}
		inj.faults = append(inj.faults, one)
	}
	return nil
}

// pass puts the faults of lines and wires on the edges of [from, to). What it returns is
// inj's own, or edges, until its next call.
func (inj *injection) pass(edges []signal.Edge, from, to signal.Time) []signal.Edge {
	return inj.lines.pass(inj.disturb(edges, from, to), from)
}
