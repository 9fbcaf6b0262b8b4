package rig

import (
	"fmt"
	"iter"

	"hilrig/plant"
	"hilrig/rig/signal"
	"hilrig/rig/trace"
	"hilrig/stimulus"
	"hilrig/stimulus/wire"
)

// wireKind says what sort of wire a fault is on.
type wireKind uint8

const (
	receiverWire wireKind = iota // index into Rig.pulse
	encoderWire                  // index into Rig.encoder
	encoderLine                  // one line of an encoder; index is the signal.Line
	serialWire                   // index into Rig.message
)

// wireRef is one wire that a fault can be on.
type wireRef struct {
	kind  wireKind
	index int
	part  int // serialWire: index into the message's channels
}

// fault is one fault of the program in play, its wire found.
type fault struct {
	stimulus.Fault
	wire, with wireRef
	held       float64   // Stuck: the value that it froze at
	began      bool      // it was active in an earlier tick
	left       int       // Spike: frames still to carry it
	past       []float64 // Delayed: the last values, a ring by ticks
	at         int       // Delayed: where the oldest value stands
}

// wireNamed finds a wire by its name.
func (r *Rig) wireNamed(name string) (wireRef, error) {
	for i, p := range r.pulse {
		if p.channel.String() == name {
			return wireRef{kind: receiverWire, index: i}, nil
		}
	}
	for i, w := range plant.Wheels {
		if w.String() == name {
			return wireRef{kind: encoderWire, index: i}, nil
		}
	}
	for i := range r.message {
		if r.message[i].name == name {
			return wireRef{kind: serialWire, index: i}, nil
		}
	}
	for i, l := range r.bench.Layout().Lines {
		if l.Name == name && l.Direction == signal.Drive {
			return wireRef{kind: encoderLine, index: i}, nil
		}
	}
	return wireRef{}, fmt.Errorf("no wire %q for a fault to be on; use steer, throttle, gain, a wheel, or a serial port of the bench", name)
}

// wireOf finds the wire of a fault, and on a serial one the message that carries what
// the fault falls on.
func (r *Rig) wireOf(f *stimulus.Fault) (wireRef, error) {
	w, err := r.wireNamed(f.Wire)
	if err != nil || f.Channel == "" {
		return w, err
	}
	for i := range r.message {
		m := &r.message[i]
		if w.kind != serialWire || m.port != r.message[w.index].port {
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

// prepare finds the wires of a program's faults.
func (r *Rig) prepare(p *stimulus.Program) error {
	r.faults = r.faults[:0]
	r.lines = r.unmended()
	r.calmDown()
	for _, f := range p.Faults {
		w, err := r.wireOf(&f)
		if err != nil {
			return err
		}
		if f.Kind == stimulus.Glitch || f.Kind == stimulus.Jitter {
			if err := r.prepareDisturbance(&f, w); err != nil {
				return err
			}
			continue
		}
		one := fault{Fault: f, wire: w, left: max(1, f.Frames)}
		switch f.Kind {
		case stimulus.Swapped:
			if one.with, err = r.wireNamed(f.With); err != nil {
				return err
			}
			if one.with.kind != w.kind || w.kind == serialWire || w.kind == encoderLine {
				return fmt.Errorf("wires %q and %q cannot be swapped; swap two receiver channels or two encoders", f.Wire, f.With)
			}
		case stimulus.Delayed:
			one.past = make([]float64, max(1, int(signal.FromSeconds(f.By)/r.tick)))
		case stimulus.WrongChecksum:
			if w.kind != serialWire || !r.checked(w) {
				return fmt.Errorf("wire %q carries no checksum that could be wrong; use a serial port whose frame has one", f.Wire)
			}
		}
		if w.kind == encoderLine && !r.bench.Layout().Lines[w.index].Role.WheelSensor() {
			return fmt.Errorf("line %q cannot break alone; use a line of an encoder", f.Wire)
		}
		if w.kind == encoderLine && f.Kind != stimulus.Lost && f.Kind != stimulus.Stuck {
			return fmt.Errorf("line %q can be lost or stuck, not %s; name the wheel for that", f.Wire, f.Kind)
		}
		if w.kind == encoderLine {
			r.watchLines()
		}
		r.faults = append(r.faults, one)
	}
	return nil
}

// channelOf returns the channel whose value a wire carries.
func (r *Rig) channelOf(w wireRef) trace.Channel {
	switch w.kind {
	case receiverWire:
		return r.pulse[w.index].channel
	case serialWire:
		if m := &r.message[w.index]; len(m.channels) > 0 {
			return m.channels[w.part]
		}
		return trace.YawRate
	}
	return trace.WheelFrontLeft + trace.Channel(w.index)
}

// spoil turns the tick's values into what the wires carry under the program's
// faults, at time at of the program.
func (r *Rig) spoil(at signal.Time) {
	r.wires = r.values
	r.mute()
	for i := range r.faults {
		f := &r.faults[i]
		if f.wire.kind == encoderLine {
			r.spoilLine(f, at)
			continue
		}
		c := r.channelOf(f.wire)
		if f.Kind == stimulus.Delayed { // it has to know the past when it begins
			late := f.past[f.at]
			f.past[f.at] = r.values[c]
			f.at = (f.at + 1) % len(f.past)
			if f.active(at) && at >= signal.FromSeconds(f.By) {
				r.wires[c] = late
			}
			continue
		}
		if !f.active(at) {
			continue
		}
		r.apply(f, c)
		f.began = true
	}
}

// onPort goes over the messages of a serial wire.
func (r *Rig) onPort(w wireRef) iter.Seq[*message] {
	return func(yield func(*message) bool) {
		for i := range r.message {
			if m := &r.message[i]; m.port == r.message[w.index].port && !yield(m) {
				return
			}
		}
	}
}

// checked says whether any message of a serial wire has a checksum.
func (r *Rig) checked(w wireRef) bool {
	for m := range r.onPort(w) {
		if m.encoder.Checked() {
			return true
		}
	}
	return false
}

func (f *fault) active(at signal.Time) bool { return at >= f.From && at < f.To }

// mute ends what lasts from tick to tick, for the faults to set anew.
func (r *Rig) mute() {
	for _, p := range r.pulse {
		if p.encoder != nil {
			p.encoder.SetLost(false)
		}
		p.spike = nil
	}
	for i := range r.message {
		m := &r.message[i]
		m.lost, m.stuck, m.every, m.spike = false, false, 0, nil
	}
	for i := range r.duty {
		r.duty[i].encoder.SetLost(false)
		r.duty[i].encoder.SetStuck(false)
	}
}

// apply lets an active fault work on what its wire carries.
func (r *Rig) apply(f *fault, c trace.Channel) {
	switch f.Kind {
	case stimulus.Lost:
		r.lose(f.wire, c)
	case stimulus.Stuck:
		r.freeze(f, c)
	case stimulus.Noisy:
		r.wires[c] += float64(f.By * r.noise.Norm())
	case stimulus.Spike:
		r.spike(f, c)
	case stimulus.WrongChecksum:
		for m := range r.onPort(f.wire) {
			m.every = max(1, f.Every)
		}
	case stimulus.Reversed:
		if f.wire.kind == receiverWire {
			r.wires[c] = r.pulse[f.wire.index].mirrored(r.wires[c])
		} else {
			r.wires[c] = -r.wires[c]
		}
	case stimulus.Swapped:
		r.swap(f, c)
	}
}

func (r *Rig) lose(w wireRef, c trace.Channel) {
	switch w.kind {
	case receiverWire:
		if p := r.pulse[w.index]; p.encoder != nil {
			p.encoder.SetLost(true)
		} else { // all channels of a bus are lost together
			r.message[p.carrier].lost = true
		}
	case serialWire:
		for m := range r.onPort(w) {
			m.lost = true
		}
	default:
		if d, ok := r.encoder[w.index].(*wire.DutyEncoder); ok {
			d.SetLost(true)
			return
		}
		r.wires[c] = 0
	}
}

func (r *Rig) freeze(f *fault, c trace.Channel) {
	switch f.wire.kind {
	case receiverWire:
		if !f.began {
			f.held = r.wires[c]
		}
		r.wires[c] = f.held
	case serialWire:
		for m := range r.onPort(f.wire) {
			m.stuck = true
		}
	default:
		if d, ok := r.encoder[f.wire.index].(*wire.DutyEncoder); ok {
			d.SetStuck(true)
			return
		}
		r.wires[c] = 0
	}
}

// spike adds By as long as frames are left that shall carry it; whoever sends a
// frame counts.
func (r *Rig) spike(f *fault, c trace.Channel) {
	if f.left <= 0 {
		return
	}
	r.wires[c] += f.By
	switch f.wire.kind {
	case receiverWire:
		if p := r.pulse[f.wire.index]; p.encoder != nil {
			p.spike = &f.left
		} else {
			r.message[p.carrier].spike = &f.left
		}
	case serialWire:
		r.message[f.wire.index].spike = &f.left
	default:
		f.left--
	}
}

func (r *Rig) swap(f *fault, c trace.Channel) {
	other := r.channelOf(f.with)
	if f.wire.kind == receiverWire { // the wires carry widths
		a, b := r.pulse[f.wire.index], r.pulse[f.with.index]
		own, others := a.code(r.wires[c]), b.code(r.wires[other])
		r.wires[c], r.wires[other] = a.means(others), b.means(own)
		return
	}
	r.wires[c], r.wires[other] = r.wires[other], r.wires[c]
}
