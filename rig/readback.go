package rig

import (
	"math"

	"hilrig/rig/signal"
	"hilrig/rig/trace"
)

// readback holds what was driven against what was on the wires.
type readback struct {
	bench      Bench // nil where what is driven counts as played when it is due
	lines      []backLine
	ports      []signal.Line // by port
	edges      []signal.Edge
	stretches  []signal.LateStretch
	notSampled []signal.Edge
	timing     *Timing
}

// backLine is what is still to be seen on one driven line.
type backLine struct {
	due  []due
	head int
	port bool
	bit  signal.Time // port: length of a bit
	idle bool        // port: level at rest
	busy signal.Time // port: planned end of the message that was seen to begin
	from *receiver   // whose pulses they are; nil on a line without a receiver's
	deaf bool        // the bench does not sample it
	came bool        // port: something was seen on it

	level  bool // as seen last
	hidden gap  // where what is due may have passed; from 0: nothing
	whole  bool // port: so may a whole message
}

// gap is a span in which the bench did not look.
type gap struct{ from, to signal.Time }

// due is an edge, or on a port a message, that is still to be seen.
type due struct {
	at, length signal.Time // length is that of a message
	message    *message
	level      bool
}

// newReadback begins to read back what bench drives, where that is not exact.
func newReadback(bench Bench, timing *Timing) (readback, error) {
	b := readback{timing: timing}
	if bench.Exact() {
		return b, nil
	}
	layout := bench.Layout()
	b.bench = bench
	b.lines = make([]backLine, len(layout.Lines))
	for i, l := range layout.Lines {
		b.lines[i].level = l.Idle
		b.lines[i].deaf = !bench.Samples(signal.Line(i))
	}
	for _, p := range layout.Ports {
		b.ports = append(b.ports, p.Line)
		l := &b.lines[p.Line]
		l.port, l.bit, l.idle = true, signal.Second/signal.Time(max(1, p.Baud)), !p.Inverted
	}
	_, err := bench.ReadBack(nil)
	return b, err
}

// pulses tells on which lines receivers send pulses.
func (b *readback) pulses(receivers []*receiver, layout signal.Layout) {
	if b.bench == nil {
		return
	}
	for i, role := range receiverRoles {
		if line, ok := layout.Find(role, signal.NoWheel); ok && receivers[i].encoder != nil {
			b.lines[line].from = receivers[i]
		}
	}
}

// drive takes edges that were handed to the bench.
func (b *readback) drive(edges []signal.Edge) {
	if b.bench == nil {
		return
	}
	for _, e := range edges {
		if b.lines[e.Line].deaf {
			continue
		}
		b.lines[e.Line].push(due{at: e.At, level: e.Level})
	}
}

// unsampled returns those of the edges that the bench does not sample. They are the
// readback's own, or edges, until its next call.
func (b *readback) unsampled(edges []signal.Edge) []signal.Edge {
	if b.bench == nil {
		return edges
	}
	b.notSampled = b.notSampled[:0]
	for _, e := range edges {
		if b.lines[e.Line].deaf {
			b.notSampled = append(b.notSampled, e)
		}
	}
	return b.notSampled
}

// send takes a message that was handed to the bench.
func (b *readback) send(m *message, start, end signal.Time) {
	if b.bench == nil || b.lines[b.ports[m.port]].deaf {
		return
	}
	l := &b.lines[b.ports[m.port]]
	l.push(due{at: start, length: end - start, message: m})
	if !l.came {
		b.timing.Unseen |= 1 << m.port
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

// compare holds what was seen on the wires against what was due there, and corrects in tr
// when pulses and messages took effect.
func (b *readback) compare(tr *trace.Trace) error {
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
		from := e.At // the earliest at which it can have been on the wire
		if e.Uncertainty > 0 {
			from = e.At - signal.Time(e.Uncertainty) + 1
		}
		hidden, last := gap{from, e.At}, gap{from, e.At}
		l.whole = false
		if l.hidden.from > 0 {
			hidden, l.hidden = l.hidden, gap{}
			if l.port {
				hidden.to = e.At // it may be the first, only late, and the others behind it
				if i == l.head {
					last.from = min(from, hidden.from)
				}
			}
		}
		for ; l.head < i; l.head++ {
			last.to += l.due[l.head].length
			b.seen(l, &l.due[l.head], hidden, tr)
		}
		b.seen(l, &l.due[i], last, tr)
		l.head++
	}
	b.stretches = b.bench.LateStretches(b.stretches[:0])
	for _, o := range b.stretches {
		b.timing.LateCount += o.Count
		b.delay(trace.Delay{From: o.From, To: o.To, Worst: o.Worst}, tr)
	}
	return nil
}

// seen notes that what was due came on the wire in a gap, or was seen at its end.
func (b *readback) seen(l *backLine, d *due, in gap, tr *trace.Trace) {
	from := in.from
	if in.to > in.from {
		from = min(max(d.at, in.from), in.to)
	}
	b.late(d.at, from, tr)
	switch {
	case l.port:
		l.busy = from + d.length
		l.came = true
		b.timing.Unseen &^= 1 << d.message.port
		for _, list := range d.message.lists {
			if list < trace.SentTos {
				d.begins(tr.Sent[list], from, in.to-from)
			}
		}
	case l.from != nil:
		l.from.played(tr.Sent[l.from.sent], d.at, from, in.to-from)
	}
}

// find returns which of the dues an edge shows, or -1. Where several may have
// passed unseen, it is the last.
func (l *backLine) find(e signal.Edge) int {
	unchanged := e.Level == l.level // a gap: the line may have changed there and back in it, or not at all
	l.level = e.Level
	n := l.head
	for n < len(l.due) && l.due[n].at <= e.At {
		n++
	}
	within := gap{e.At - signal.Time(e.Uncertainty) + 1, e.At}
	if l.port {
		return l.message(e, n, within, unchanged)
	}
	if unchanged {
		if n >= l.head+2 {
			l.hide(within)
		}
		return -1
	}
	if n == l.head {
		return -1
	}
	if first := l.due[l.head]; l.hidden.from == 0 && first.level == e.Level && (n == l.head+1 || signal.Time(e.Uncertainty) <= l.due[l.head+1].at-first.at) {
		return l.head
	}
	for n--; n >= l.head; n-- {
		if l.due[n].level == e.Level {
			return n
		}
	}
	return -1
}

// message returns which message begins with an edge, of those up to n that are due;
// -1: none.
func (l *backLine) message(e signal.Edge, n int, within gap, unchanged bool) int {
	if n == l.head || e.At < l.busy-l.bit/2 { // the driver's baud is not quite the planned one
		return -1
	}
	l.whole = l.whole || signal.Time(e.Uncertainty) > max(l.bit, l.due[l.head].length-mostBits*l.bit)
	switch {
	case unchanged || e.Level == l.idle: // no start bit is seen, yet one may have passed in a gap
		if signal.Time(e.Uncertainty) > l.bit {
			l.hide(within)
		}
		return -1
	case l.whole:
		return n - 1 // the others may have gone by in a gap
	}
	return l.head
}

// mostBits is how many bits a byte takes at most: from the first bit of its last byte on
// a message may look as if the line were at rest.
const mostBits = 12

// hide notes that something may have passed in a gap.
func (l *backLine) hide(in gap) {
	if l.hidden.from == 0 {
		l.hidden.from = max(1, l.due[l.head].at, in.from)
	}
	l.hidden.to = in.to
}

// late notes that what was due at one time was played at another.
func (b *readback) late(due, played signal.Time, tr *trace.Trace) {
	by := played - due
	if by > LateFloor {
		b.timing.LateCount++
	}
	b.delay(trace.Delay{From: due, To: played, Worst: by}, tr)
}

// delay notes a stretch of lateness, and lists it where it is above LateFloor.
func (b *readback) delay(d trace.Delay, tr *trace.Trace) {
	b.timing.Late = max(b.timing.Late, d.Worst)
	if d.Worst <= LateFloor {
		return
	}
	if n := len(tr.Delays); n > 0 && d.From <= tr.Delays[n-1].To {
		last := &tr.Delays[n-1]
		last.From, last.To, last.Worst = min(last.From, d.From), max(last.To, d.To), max(last.Worst, d.Worst)
		return
	}
	tr.Delays = append(tr.Delays, d)
}

// recent is how many of the pulses and frames listed last one may be among.
const recent = 8

// begins corrects when a message took effect that was seen to begin at from, or
// up to uncertainty later.
func (d *due) begins(sent []trace.Sent, from, uncertainty signal.Time) {
	for i := len(sent) - 1; i >= max(0, len(sent)-recent); i-- {
		if s := &sent[i]; s.Start == d.at {
			s.Start, s.End = from, from+d.length
			s.Late, s.EndUncertainty = from-d.at, uncertainty
			return
		}
	}
}

// played corrects the pulse that begins or ends with an edge due at at, which
// was on the wire from from on, or up to uncertainty later. Where the pulse is not listed yet,
// that is kept until it is.
func (p *receiver) played(sent []trace.Sent, at, from, uncertainty signal.Time) {
	for i := len(sent) - 1; i >= max(0, len(sent)-recent); i-- {
		s := &sent[i]
		switch at {
		case s.Start:
			s.Start = from
		case s.End:
			s.End, s.Late, s.EndUncertainty = from, from-at, uncertainty
		default:
			continue
		}
		width := s.End - s.Start
		if from > at {
			s.Value = p.encoder.ValueOf(width)
		}
		s.ValueUncertainty += math.Abs(p.encoder.ValueOf(width+uncertainty) - p.encoder.ValueOf(width))
		return
	}
	p.rose = rose{at, from, uncertainty}
}
