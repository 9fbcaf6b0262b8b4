package rig

import (
	"fmt"

	"hilrig/plant/portable"
	"hilrig/rig/signal"
	"hilrig/rig/trace"
	"hilrig/stimulus/wire"
)

// receiver plays one receiver channel and lists its pulses.
type receiver struct {
	encoder *wire.PulseEncoder
	channel trace.Channel
	sent    trace.SentTo
	frame   signal.Time // period
	rise    signal.Time
	spike   *int // how many pulses are still to carry a spike
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
			continue
		}
		tr.Sent[p.sent] = append(tr.Sent[p.sent], trace.Sent{
			Start: p.rise, End: e.At, Value: p.encoder.ValueOf(e.At - p.rise),
		})
	}
	return p.edges
}

// message plays one message of one serial sensor.
type message struct {
	name     string // of the port
	period   signal.Time
	encoder  *wire.FrameEncoder
	port     signal.Port
	channels []trace.Channel
	values   []float64
	data     []byte
	yaw      bool // its first value is the yaw rate
	lost     bool // nothing is sent
	every    int  // every so many-th frame has a wrong checksum; 0: none
	count    int  // frames sent
	spike    *int // how many frames are still to carry a spike
}

func newMessage(f wire.Frame, layout signal.Layout, seed uint64, phase signal.Time) (message, error) {
	m := message{name: f.Port, period: f.Period}
	found := false
	for i, p := range layout.Ports {
		if p.Name == f.Port {
			m.port, found = signal.Port(i), true
		}
	}
	if !found {
		return m, fmt.Errorf("the bench has no port %q that a serial frame is declared for", f.Port)
	}
	noise := portable.NewNoise(seed, "noise of "+f.Port)
	var err error
	m.encoder, err = wire.NewFrames(f, &noise, phase)
	if err != nil {
		return m, fmt.Errorf("serial frame on %s: %w", f.Port, err)
	}
	for _, name := range m.encoder.Channels() {
		c, ok := trace.ChannelNamed(name)
		if !ok {
			return m, fmt.Errorf("serial frame on %s: %q is no channel", f.Port, name)
		}
		m.channels = append(m.channels, c)
	}
	m.values = make([]float64, len(m.channels))
	m.yaw = len(m.channels) > 0 && m.channels[0] == trace.YawRate
	return m, nil
}

// send sends the frames that begin before to.
func (m *message) send(b Bench, to signal.Time, values *[trace.Channels]float64, tr *trace.Trace) error {
	if m.lost {
		m.encoder.Skip(to)
	}
	for m.encoder.Next() < to {
		at := m.encoder.Next()
		if m.spike != nil {
			*m.spike--
		}
		m.count++
		bad := m.every > 0 && m.count%m.every == 0
		m.encoder.SetWrongChecksum(bad)
		for i, c := range m.channels {
			m.values[i] = values[c]
		}
		m.data = m.encoder.Build(m.data[:0], m.values)
		end, err := b.Send(m.port, at, m.data)
		if err != nil {
			return err
		}
		if m.yaw {
			tr.Sent[trace.SentYawRate] = append(tr.Sent[trace.SentYawRate], trace.Sent{Start: at, End: end, Value: m.encoder.Sent(), Bad: bad})
		}
	}
	return nil
}
