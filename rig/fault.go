package rig

import (
	"iter"

	"hilrig/rig/signal"
	"hilrig/rig/trace"
	"hilrig/stimulus"
	"hilrig/stimulus/wire"
)

// wireKind says what sort of wire a fault is on.
type wireKind uint8

const (
	receiverWire wireKind = iota // index into drivers.pulse
	encoderWire                  // index into drivers.encoder
	encoderLine                  // one line of an encoder; index is the signal.Line
	serialWire                   // index into drivers.message
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
	left       int       // Spike and BadPulse: frames still to carry it
	past       []float64 // Delayed: the last values, a ring by ticks
	at         int       // Delayed: where the oldest value stands
}

// channelOf returns the channel whose value a wire carries.
func (inj *injection) channelOf(w wireRef) trace.Channel {
	switch w.kind {
	case receiverWire:
		return inj.pulse[w.index].channel
	case serialWire:
		if m := &inj.message[w.index]; len(m.channels) > 0 {
			return m.channels[w.part]
		}
		return trace.YawRate
	}
	return trace.WheelFrontLeft + trace.Channel(w.index)
}

// inject turns the tick's values into what the wires carry under the program's
// faults, at time at of the program.
func (inj *injection) inject(values *[trace.Channels]float64, at signal.Time) {
	inj.wires = *values
	inj.mute()
	for i := range inj.faults {
		f := &inj.faults[i]
		if f.wire.kind == encoderLine {
			inj.breakLine(f, at)
			continue
		}
		c := inj.channelOf(f.wire)
		if f.Kind == stimulus.Delayed { // it has to know the past when it begins
			late := f.past[f.at]
			f.past[f.at] = values[c]
			f.at = (f.at + 1) % len(f.past)
			if f.active(at) && at >= signal.FromSeconds(f.By) {
				inj.wires[c] = late
			}
			continue
		}
		if !f.active(at) {
			continue
		}
		inj.apply(f, c)
		f.began = true
	}
}

// onPort goes over the messages of a serial wire.
func (inj *injection) onPort(w wireRef) iter.Seq[*message] {
	return func(yield func(*message) bool) {
		for i := range inj.message {
			if m := &inj.message[i]; m.port == inj.message[w.index].port && !yield(m) {
				return
			}
		}
	}
}

// carriers goes over the messages of a serial wire, or over the one that carries a channel of
// a receiver's bus.
func (inj *injection) carriers(w wireRef) iter.Seq[*message] {
	if w.kind == serialWire {
		return inj.onPort(w)
	}
	return func(yield func(*message) bool) {
		if p := inj.pulse[w.index]; w.kind == receiverWire && p.encoder == nil {
			yield(&inj.message[p.carrier])
		}
	}
}

// some says whether any of messages is what it is asked for.
func some(messages iter.Seq[*message], is func(e *wire.FrameEncoder) bool) bool {
	for m := range messages {
		if is(m.encoder) {
			return true
		}
	}
	return false
}

// checked says whether any message of a serial wire has a checksum.
func (inj *injection) checked(w wireRef) bool {
	return some(inj.onPort(w), (*wire.FrameEncoder).Checked)
}

func (f *fault) active(at signal.Time) bool { return at >= f.From && at < f.To }

// mute ends what lasts from tick to tick, for the faults to set anew.
func (inj *injection) mute() {
	for _, p := range inj.pulse {
		if p.encoder != nil {
			p.encoder.SetLost(false)
			p.encoder.SetWidth(0)
		}
		p.spike, p.bad = nil, nil
	}
	for i := range inj.message {
		m := &inj.message[i]
		m.lost, m.stuck, m.flagged, m.standing, m.every, m.spike = false, false, false, false, 0, nil
	}
	for _, d := range inj.duty {
		d.SetLost(false)
		d.SetStuck(false)
	}
}

// apply lets an active fault work on what its wire carries.
func (inj *injection) apply(f *fault, c trace.Channel) {
	switch f.Kind {
	case stimulus.Lost:
		inj.lose(f.wire, c)
	case stimulus.Stuck:
		inj.freeze(f, c)
	case stimulus.Noisy:
		inj.wires[c] += float64(f.By * inj.noise.Norm())
	case stimulus.Spike:
		inj.spike(f, c)
	case stimulus.BadPulse:
		if p := inj.pulse[f.wire.index]; f.left > 0 {
			p.encoder.SetWidth(f.Width)
			p.bad = &f.left
		}
	case stimulus.WrongChecksum:
		for m := range inj.onPort(f.wire) {
			m.every = max(1, f.Every)
		}
	case stimulus.FailsafeFlag:
		for m := range inj.carriers(f.wire) {
			m.flagged = true
		}
	case stimulus.SequenceStuck:
		for m := range inj.onPort(f.wire) {
			m.standing = true
		}
	case stimulus.Reversed:
		if f.wire.kind == receiverWire {
			inj.wires[c] = inj.pulse[f.wire.index].mirrored(inj.wires[c])
		} else {
			inj.wires[c] = -inj.wires[c]
		}
	case stimulus.Swapped:
		inj.swap(f, c)
	}
}

func (inj *injection) lose(w wireRef, c trace.Channel) {
	switch w.kind {
	case receiverWire:
		if p := inj.pulse[w.index]; p.encoder != nil {
			p.encoder.SetLost(true)
		} else { // all channels of a bus are lost together
			inj.message[p.carrier].lost = true
		}
	case serialWire:
		for m := range inj.onPort(w) {
			m.lost = true
		}
	default:
		if d, ok := inj.encoder[w.index].(*wire.DutyEncoder); ok {
			d.SetLost(true)
			return
		}
		inj.wires[c] = 0
	}
}

func (inj *injection) freeze(f *fault, c trace.Channel) {
	switch f.wire.kind {
	case receiverWire:
		if !f.began {
			f.held = inj.wires[c]
		}
		inj.wires[c] = f.held
	case serialWire:
		for m := range inj.onPort(f.wire) {
			m.stuck = true
		}
	default:
		if d, ok := inj.encoder[f.wire.index].(*wire.DutyEncoder); ok {
			d.SetStuck(true)
			return
		}
		inj.wires[c] = 0
	}
}

// spike adds By as long as frames are left that shall carry it; whoever sends a
// frame counts.
func (inj *injection) spike(f *fault, c trace.Channel) {
	if f.left <= 0 {
		return
	}
	inj.wires[c] += f.By
	switch f.wire.kind {
	case receiverWire:
		if p := inj.pulse[f.wire.index]; p.encoder != nil {
			p.spike = &f.left
		} else {
			inj.message[p.carrier].spike = &f.left
		}
	case serialWire:
		inj.message[f.wire.index].spike = &f.left
	default:
		f.left--
	}
}

func (inj *injection) swap(f *fault, c trace.Channel) {
	other := inj.channelOf(f.with)
	if f.wire.kind == receiverWire { // the wires carry widths
		a, b := inj.pulse[f.wire.index], inj.pulse[f.with.index]
		own, others := a.code(inj.wires[c]), b.code(inj.wires[other])
		inj.wires[c], inj.wires[other] = a.means(others), b.means(own)
		return
	}
	inj.wires[c], inj.wires[other] = inj.wires[other], inj.wires[c]
}
