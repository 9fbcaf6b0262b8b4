package simulated

import (
	"fmt"

	"hilrig/rig/signal"
	"hilrig/stimulus/wire"
)

// port is one serial port and the levels still to be played on it.
type port struct {
	uart  wire.UART
	queue queue
	busy  signal.Time // end of the last stop bit handed over
	plan  signal.Time // the same, had every message begun when it was due

	disturber signal.Disturber // nil where there is none
	disturbed []signal.Edge
}

// Disturb has the levels of port p pass through d before the board sees them,
// from the present on; the port has to be at rest. nil ends it.
func (b *Bench) Disturb(p signal.Port, d signal.Disturber) error {
	if int(p) >= len(b.ports) {
		return fmt.Errorf("simulated bench: disturb port %d; there are %d", p, len(b.ports))
	}
	b.ports[p].disturber = d
	return nil
}

// due takes what is to be played on the port after from, up to t.
func (p *port) due(from, t signal.Time) []signal.Edge {
	edges := p.queue.due(t)
	if p.disturber == nil {
		return edges
	}
	p.disturbed = p.disturber.Pass(p.disturbed[:0], edges, from, t+1)
	return p.disturbed
}

// Drive hands over the edges of driven lines up to until. Each changes its
// line's level. On an error none of them is handed over.
func (b *Bench) Drive(edges []signal.Edge, until signal.Time) error {
	if b.closed {
		return errClosed
	}
	if until < b.until || until < b.now {
		return fmt.Errorf("simulated bench: drive until %v, but it is %v and edges were handed over until %v", until, b.now, b.until)
	}
	last := max(b.until, b.now)
	for i := range edges {
		e := &edges[i]
		line := int(e.Line)
		if line >= len(b.planned) || e.At < last || e.At > until || b.planned[line] == e.Level ||
			b.portOf[line] >= 0 || b.layout.Lines[line].Direction != signal.Drive {
			b.unplan(edges[:i])
			return b.refuse(*e, last, until)
		}
		b.planned[line] = e.Level
		last = e.At
	}
	b.queue.push(edges)
	b.until = until
	return nil
}

// refuse says what is wrong with an edge that may lie between last and until.
func (b *Bench) refuse(e signal.Edge, last, until signal.Time) error {
	if int(e.Line) >= len(b.layout.Lines) {
		return fmt.Errorf("simulated bench: driven edge at %v on line %d, which the layout does not have", e.At, e.Line)
	}
	name := b.layout.Lines[e.Line].Name
	switch {
	case b.layout.Lines[e.Line].Direction != signal.Drive:
		return fmt.Errorf("simulated bench: driven edge at %v on %s, which the board drives", e.At, name)
	case b.portOf[e.Line] >= 0:
		return fmt.Errorf("simulated bench: driven edge at %v on %s, which is the line of port %s; send bytes to it", e.At, name, b.layout.Ports[b.portOf[e.Line]].Name)
	case e.At < last:
		return fmt.Errorf("simulated bench: driven edge on %s at %v is of the past: it is %v, and edges were handed over until %v", name, e.At, b.now, last)
	case e.At > until:
		return fmt.Errorf("simulated bench: driven edge on %s at %v is later than %v, until which edges were to be handed over", name, e.At, until)
	}
	return fmt.Errorf("simulated bench: driven edge on %s at %v repeats the level that it has", name, e.At)
}

// unplan takes back the levels of edges that will not be played.
func (b *Bench) unplan(edges []signal.Edge) {
	for _, e := range edges {
		b.planned[e.Line] = !b.planned[e.Line]
	}
}

// Send puts data on a port from at on, or after the bytes still under way, and
// returns the end of the last stop bit as planned.
func (b *Bench) Send(p signal.Port, at signal.Time, data []byte) (end signal.Time, err error) {
	switch {
	case b.closed:
		return 0, errClosed
	case int(p) >= len(b.ports):
		return 0, fmt.Errorf("simulated bench: send at %v on port %d; there are %d", at, p, len(b.ports))
	case at < b.now:
		return 0, fmt.Errorf("simulated bench: send on %s at %v, which is past at %v", b.layout.Ports[p].Name, at, b.now)
	}
	port := &b.ports[p]
	port.queue.tidy()
	begin := b.output.begin(max(at, port.busy))
	port.queue.edges, port.busy = port.uart.Append(port.queue.edges, begin, data)
	port.plan = max(at, port.plan) + port.busy - begin
	return port.plan, nil
}

// Safe brings every driven line to its idle level at the present and drops what
// was handed over. The board sees it when time goes on.
func (b *Bench) Safe() error {
	if b.closed {
		return nil
	}
	b.unplan(b.queue.drop())
	b.unplan(b.output.queue.drop())
	for i := range b.ports {
		p := &b.ports[i]
		b.unplanPort(p)
		if p.disturber != nil {
			b.planned[p.uart.Line] = p.disturber.Drop()
		}
	}
	for i := range b.planned {
		l := &b.layout.Lines[i]
		if l.Direction == signal.Drive && b.planned[i] != l.Idle {
			b.planned[i] = l.Idle
			b.queue.edges = append(b.queue.edges, signal.Edge{At: b.now, Line: signal.Line(i), Level: l.Idle})
		}
	}
	b.until = b.now
	return nil
}

// unplanPort drops the levels still to be played on a port. A whole message
// leaves its line at rest, so that an odd number of edges dropped leaves it at
// the other level.
func (b *Bench) unplanPort(p *port) {
	b.unplan(p.queue.drop())
	p.busy, p.plan = b.now, b.now
}
