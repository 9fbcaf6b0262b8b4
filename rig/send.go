package rig

import (
	"fmt"

	"hilrig/rig/signal"
	"hilrig/rig/trace"
	"hilrig/stimulus/wire"
)

// receiver plays one receiver channel and lists its pulses, or it is a channel of
// the receiver's bus.
type receiver struct {
	encoder *wire.PulseEncoder // nil on a bus
	bus     *wire.BusChannel
	carrier int // index into Rig.message of the bus
	channel trace.Channel
	sent    trace.SentTo
	rise    signal.Time // when the last pulse that was handed over was to begin
	rose    rose
	spike   *int // how many pulses are still to carry a spike
	bad     *int // how many are still to be of a width that stands for nothing
	isBad   bool // the last that rose is one of them
	edges   []signal.Edge
}

// append returns the channel's edges of the tick [from, to). They are the
// receiver's own until its next call.
func (p *receiver) append(from, to signal.Time, values *[trace.Channels]float64, tr *trace.Trace) []signal.Edge {
	p.edges = p.encoder.Append(p.edges[:0], from, to, values[p.channel])
	for _, e := range p.edges {
		if e.Level {
			p.rise = e.At
			if p.spike != nil {
				*p.spike--
			}
			if p.isBad = p.bad != nil; p.isBad {
				*p.bad--
			}
			continue
		}
		tr.Sent[p.sent] = append(tr.Sent[p.sent], trace.Sent{
			Start: p.rise, End: e.At, Value: p.encoder.ValueOf(e.At - p.rise), Bad: p.isBad,
		})
		if p.rose.due == p.rise {
			p.played(tr.Sent[p.sent], p.rose.due, p.rose.from, p.rose.uncertainty)
		}
	}
	return p.edges
}

// rose is when a pulse that was not listed yet was seen to begin. A pulse is listed with
// its falling edge, which belongs to a later tick than its rising edge as a rule.
type rose struct{ due, from, uncertainty signal.Time }

// mirrored returns the value that stands as far on the other side of the channel's middle.
func (p *receiver) mirrored(value float64) float64 {
	if p.encoder == nil {
		return p.bus.Mirrored(value)
	}
	return p.encoder.Mirrored(value)
}

// code returns what stands for a value on the wire: ns of width, or counts.
func (p *receiver) code(value float64) float64 {
	if p.encoder == nil {
		return p.bus.Count(value)
	}
	return float64(p.encoder.Width(value))
}

// means returns the value that a code stands for.
func (p *receiver) means(code float64) float64 {
	if p.encoder == nil {
		return p.bus.ValueOf(code)
	}
	return p.encoder.ValueOf(signal.Time(code))
}

// wireReceiver makes the receiver's channels.
func (r *Rig) wireReceiver(w Wiring, line func(signal.Role, signal.Wheel) signal.Line) error {
	for i, p := range []struct {
		pulse   wire.Pulse
		bus     wire.BusChannel
		channel trace.Channel
		sent    trace.SentTo
	}{
		{w.Steer, w.Bus.Steer, trace.Steer, trace.SentSteer},
		{w.Throttle, w.Bus.Throttle, trace.Throttle, trace.SentThrottle},
		{w.Gain, w.Bus.Gain, trace.Gain, trace.SentGain},
	} {
		one := &receiver{channel: p.channel, sent: p.sent}
		r.pulse[i] = one
		if w.Bus.Port != "" {
			if p.bus.Number == 0 {
				return fmt.Errorf("receiver bus: %s is on no channel; give it one of 1 to %d", p.channel, wire.BusChannels)
			}
			one.bus = &p.bus
			continue
		}
		e, err := wire.NewPulses(p.pulse, line(receiverRoles[i], signal.NoWheel), r.phase(p.pulse.Frame))
		if err != nil {
			return fmt.Errorf("receiver channel %s: %w", p.channel, err)
		}
		one.encoder = e
	}
	return nil
}
