package rig

import (
	"hilrig/rig/signal"
	"hilrig/rig/trace"
)

// readback holds what was driven against what was on the wires.
type readback struct {
	bench  ReadsBack // nil: what is driven is played when it is due
	lines  []backLine
	ports  []signal.Line // by port
	edges  []signal.Edge
	timing *Timing
}

// backLine is what is still to be seen on one driven line.
type backLine struct {
	due  []due
	head int
	port bool
	busy signal.Time // port: planned end of the message that was seen to begin
	from *receiver   // whose pulses they are; nil: no receiver's
}

// due is an edge, or on a port a message, that is still to be seen.
type due struct {
	at, length signal.Time // length is that of a message
	message    *message
	level      bool
}

// newReadback begins to read back what bench drives, if that can tell anything.
func newReadback(bench Bench, timing *Timing) (readback, error) {
	b := readback{timing: timing}
	able, ok := bench.(ReadsBack)
	if !ok || able.Exact() {
		return b, nil
	}
	layout := bench.Layout()
	b.bench = able
	b.lines = make([]backLine, len(layout.Lines))
	for _, p := range layout.Ports {
		b.ports = append(b.ports, p.Line)
		b.lines[p.Line].port = true
	}
	_, err := able.ReadBack(nil)
	return b, err
}

// pulses tells on which lines receivers send pulses.
func (b *readback) pulses(receivers []*receiver, layout signal.Layout) {
	if b.bench == nil {
		return
	}
	for i, name := range receiverChannels {
		if line, ok := layout.Line(name); ok && receivers[i].encoder != nil {
			b.lines[line].from = receivers[i]
		}
	}
}

// receiverChannels are the lines of a receiver's pulses.
var receiverChannels = [3]string{"steer", "throttle", "gain"}

// drive takes edges that were handed to the bench.
func (b *readback) drive(edges []signal.Edge) {
	if b.bench == nil {
		return
	}
	for _, e := range edges {
		b.lines[e.Line].push(due{at: e.At, level: e.Level})
	}
}

// send takes a message that was handed to the bench.
func (b *readback) send(m *message, start, end signal.Time) {
	if b.bench != nil {
		b.lines[b.ports[m.port]].push(due{at: start, length: end - start, message: m})
	}
}

// mostDue is how much may be due on a line that nothing is seen on.
const mostDue = 1 << 14

func (l *backLine) push(d due) {
	if l.head*2 >= len(l.due) {
		n := copy(l.due, l.due[l.head:])
		l.due, l.head = l.due[:n], 0
	}
	if len(l.due)-l.head >= mostDue {
		l.due, l.head = l.due[:0], 0
	}
	l.due = append(l.due, d)
}

// take takes what was seen on the wires, and corrects in tr when pulses and
// messages took effect.
func (b *readback) take(tr *trace.Trace) error {
	if b.bench == nil {
		return nil
	}
	var err error
	if b.edges, err = b.bench.ReadBack(b.edges[:0]); err != nil {
		return err
	}
	for _, e := range b.edges {
		l := &b.lines[e.Line]
		i := l.find(e)
		if i < 0 {
			continue
		}
		d := l.due[i]
		l.head = i + 1
		from := e.At // the earliest at which it can have been on the wire
		if e.Late > 0 {
			from = max(d.at, e.At-signal.Time(e.Late)+1)
		}
		b.late(d.at, from, tr)
		switch {
		case l.port:
			l.busy = from + d.length
			for _, list := range d.message.lists {
				if list < trace.SentTos {
					d.begins(tr.Sent[list], from, e.At-from)
				}
			}
		case l.from != nil:
			l.from.played(tr.Sent[l.from.sent], d.at, from, e.At-from)
		}
	}
	return nil
}

// find returns which of the dues an edge shows; -1: none. Where several may have
// passed unseen, it is the last.
func (l *backLine) find(e signal.Edge) int {
	if l.port {
		if l.head < len(l.due) && l.due[l.head].at <= e.At && e.At >= l.busy {
			return l.head
		}
		return -1
	}
	n := l.head
	for n < len(l.due) && l.due[n].at <= e.At {
		n++
	}
	if n == l.head {
		return -1
	}
	if first := l.due[l.head]; first.level == e.Level && (n == l.head+1 || signal.Time(e.Late) <= l.due[l.head+1].at-first.at) {
		return l.head
	}
	for n--; n >= l.head; n-- {
		if l.due[n].level == e.Level {
			return n
		}
	}
	return -1
}

// late notes that what was due at one time was played at another.
func (b *readback) late(due, played signal.Time, tr *trace.Trace) {
	by := played - due
	b.timing.Late = max(b.timing.Late, by)
	if by <= LateFloor {
		return
	}
	b.timing.LateCount++
	if n := len(tr.Delays); n > 0 && due <= tr.Delays[n-1].To {
		d := &tr.Delays[n-1]
		d.From, d.To, d.Worst = min(d.From, due), max(d.To, played), max(d.Worst, by)
		return
	}
	tr.Delays = append(tr.Delays, trace.Delay{From: due, To: played, Worst: by})
}

// recent is how many of the pulses and frames listed last one may be among.
const recent = 8

// begins corrects when a message took effect that was seen to begin at from, or
// up to doubt later.
func (d *due) begins(sent []trace.Sent, from, doubt signal.Time) {
	for i := len(sent) - 1; i >= max(0, len(sent)-recent); i-- {
		if s := &sent[i]; s.Start == d.at {
			s.Start, s.End = from, from+d.length
			s.Late, s.Doubt = from-d.at, doubt
			return
		}
	}
}

// played corrects the pulse that begins or ends with an edge due at at, which
// was on the wire from from on, or up to doubt later.
func (p *receiver) played(sent []trace.Sent, at, from, doubt signal.Time) {
	for i := len(sent) - 1; i >= max(0, len(sent)-recent); i-- {
		s := &sent[i]
		switch at {
		case s.Start:
			s.Start = from
		case s.End:
			s.End, s.Late, s.Doubt = from, from-at, doubt
		default:
			continue
		}
		if from > at {
			s.Value = p.encoder.ValueOf(s.End - s.Start)
		}
		return
	}
}
