package rig

import (
	"fmt"
	"slices"

	"hilrig/plant/portable"
	"hilrig/rig/signal"
	"hilrig/rig/trace"
	"hilrig/stimulus/wire"
)

// message plays one message of one serial port.
type message struct {
	name     string // of the port
	encoder  *wire.FrameEncoder
	replier  *wire.Replier // what sends it on request; nil where the grid does
	reply    int           // which of the replier's frames it is
	port     signal.Port
	channels []trace.Channel
	lists    []trace.SentTo // by channel: the list that its values go to, or SentTos
	values   []float64
	data     []byte
	lost     bool // nothing is sent
	stuck    bool
	flagged  bool // its failsafe flag is set
	standing bool // its counters stand still
	every    int  // every so many-th frame has a wrong checksum; 0 means none
	count    int  // frames sent
	spike    *int // how many frames are still to carry a spike
}

// noiseOf returns the noise of the n-th message on a port, counted from 0.
func noiseOf(seed uint64, port string, n int) *portable.Noise {
	name := "noise of " + port
	if n > 0 {
		name = fmt.Sprintf("%s, message %d", name, n+1)
	}
	noise := portable.NewNoise(seed, name)
	return &noise
}

// wireSerial makes the messages of the serial ports and of the receiver's bus.
func (r *Rig) wireSerial(s Settings, layout signal.Layout) error {
	r.busy = make([]signal.Time, len(layout.Ports))
	if s.Wiring.Bus.Port != "" {
		f, err := s.Wiring.Bus.Frame()
		if err != nil {
			return fmt.Errorf("receiver bus: %w", err)
		}
		if err := r.addMessage(f, s, layout); err != nil {
			return err
		}
		m := &r.message[0]
		for _, p := range r.pulse {
			p.carrier = 0
			m.lists[slices.Index(m.channels, p.channel)] = p.sent
		}
	}
	for _, f := range s.Wiring.Frames {
		if err := r.addMessage(f, s, layout); err != nil {
			return err
		}
	}
	for i := range r.message { // what carries the yaw rate first is what it is read from
		m := &r.message[i]
		if at := slices.Index(m.channels, trace.YawRate); at >= 0 {
			m.lists[at] = trace.SentYawRate
			break
		}
	}
	return nil
}

func (r *Rig) addMessage(f wire.Frame, s Settings, layout signal.Layout) error {
	m := message{name: f.Port}
	port := slices.IndexFunc(layout.Ports, func(p signal.PortSpec) bool { return p.Name == f.Port })
	if port < 0 {
		return fmt.Errorf("the bench has no port %q that a serial frame is declared for", f.Port)
	}
	m.port = signal.Port(port)
	before := 0
	for i := range r.message {
		if r.message[i].port == m.port {
			before++
		}
	}
	if layout.Ports[port].Asked {
		if err := m.answers(s.Repliers, before); err != nil {
			return err
		}
	} else {
		var err error
		m.encoder, err = wire.NewFrames(f, noiseOf(s.Seed, f.Port, before), r.phase(f.Period))
		if err != nil {
			return fmt.Errorf("serial frame on %s: %w", f.Port, err)
		}
	}
	for _, name := range m.encoder.Channels() {
		c, ok := trace.ChannelNamed(name)
		if !ok {
			return fmt.Errorf("serial frame on %s: %q is no channel", f.Port, name)
		}
		m.channels = append(m.channels, c)
		m.lists = append(m.lists, trace.SentTos)
	}
	m.values = make([]float64, len(m.channels))
	r.message = append(r.message, m)
	return nil
}

// answers finds the replier that sends m, its n-th frame.
func (m *message) answers(repliers []*wire.Replier, n int) error {
	for _, one := range repliers {
		if one.Port().Name == m.name {
			m.replier, m.reply, m.encoder = one, n, one.Frame(n)
			return nil
		}
	}
	return fmt.Errorf("port %s answers requests, and nothing answers them; give the settings the wiring's repliers", m.name)
}

// fill fills in the values that the message's next frame is to say.
func (m *message) fill(values *[trace.Channels]float64) {
	for i, c := range m.channels {
		m.values[i] = values[c]
	}
}

// list lists a frame that was sent, where a list is kept of what it says.
func (m *message) list(one trace.Sent, said []float64, tr *trace.Trace) {
	for i, l := range m.lists {
		if l < trace.SentTos {
			one.Value = said[i]
			tr.Sent[l] = append(tr.Sent[l], one)
		}
	}
}

// send sends the frames that begin before to, those of all ports in order of their
// beginnings: a port that is busy sends them one behind the other.
func (r *Rig) send(to signal.Time, tr *trace.Trace) error {
	for i := range r.message {
		if m := &r.message[i]; m.lost {
			m.encoder.Skip(to)
		}
	}
	for {
		var next *message
		for i := range r.message {
			m := &r.message[i]
			if m.replier == nil && m.encoder.Next() < to && (next == nil || m.encoder.Next() < next.encoder.Next()) {
				next = m
			}
		}
		if next == nil {
			return nil
		}
		if err := r.sendOne(next, tr); err != nil {
			return err
		}
	}
}

// sendOne sends the next frame of m.
func (r *Rig) sendOne(m *message, tr *trace.Trace) error {
	at := m.encoder.Next()
	if m.spike != nil {
		*m.spike--
	}
	m.count++
	bad := m.every > 0 && m.count%m.every == 0
	m.encoder.SetWrongChecksum(bad)
	m.encoder.SetStuck(m.stuck)
	m.encoder.SetFlagged(m.flagged)
	m.encoder.SetSequenceStuck(m.standing)
	m.fill(&r.faults.wires)
	m.data = m.encoder.Build(m.data[:0], m.values)
	end, err := r.bench.Send(m.port, at, m.data)
	if err != nil {
		return err
	}
	start := max(at, r.busy[m.port])
	r.busy[m.port] = end
	r.back.send(m, start, end)
	m.list(trace.Sent{Start: start, End: end, Bad: bad && m.encoder.Checked() || m.flagged}, m.encoder.Said(), tr)
	return nil
}

// reply says what is to be answered from time from on, and lists what was
// answered before.
func (r *Rig) reply(from signal.Time, tr *trace.Trace) {
	for i := range r.message {
		m := &r.message[i]
		if m.replier == nil {
			continue
		}
		m.fill(&r.faults.wires)
		m.replier.Say(m.reply, wire.Saying{From: from, Values: m.values, Lost: m.lost, Stuck: m.stuck, Standing: m.standing, Every: m.every})
		for _, one := range m.replier.Sent(m.reply) {
			if m.spike != nil {
				*m.spike--
			}
			if one.Start >= tr.Start {
				m.list(trace.Sent{Start: one.Start, End: one.End, Bad: one.Bad && m.encoder.Checked()}, one.Said, tr)
			}
		}
	}
}
