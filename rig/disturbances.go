package rig

import (
	"errors"
	"fmt"
	"slices"

	"hilrig/rig/signal"
	"hilrig/stimulus"
)

// disturbances are what works on the edges of each wire.
type disturbances struct {
	byLine     []*disturbance // nil for a line that cannot be disturbed
	wireFaults []*disturbance
	portFaults []*disturbance  // by port; nil where the bench has no way
	disturbing bool            // one of wireFaults is working
	calm       []signal.Edge   // edges that are not disturbed
	changed    [][]signal.Edge // those that are, by wire
	merged     []signal.Edge   // all of them together
	streams    [][]signal.Edge
}

// disturb lets the disturbed wires' edges of [from, to) pass through what disturbs
// them. What it returns is inj's own until its next call.
func (inj *injection) disturb(edges []signal.Edge, from, to signal.Time) []signal.Edge {
	if !inj.disturbing {
		return edges
	}
	inj.calm = inj.calm[:0]
	for _, e := range edges {
		if d := inj.byLine[e.Line]; d != nil && d.working {
			d.queue(e, from)
		} else {
			inj.calm = append(inj.calm, e)
		}
	}
	inj.streams = append(inj.streams[:0], inj.calm)
	inj.disturbing = false
	for i, d := range inj.wireFaults {
		if !d.working {
			continue
		}
		inj.changed[i] = d.due(inj.changed[i][:0], from, to)
		inj.streams = append(inj.streams, inj.changed[i])
		d.working = !d.idle(to)
		inj.disturbing = inj.disturbing || d.working
	}
	inj.merged = signal.Merge(inj.merged[:0], inj.streams)
	return inj.merged
}

// wireDisturber makes what disturbs each wire, at rest.
func (inj *injection) wireDisturber(bench Bench, seed uint64) error {
	inj.byLine = make([]*disturbance, len(inj.layout.Lines))
	add := func(name string, lines ...signal.Line) {
		d := newDisturbance(seed, name, lines...)
		inj.wireFaults = append(inj.wireFaults, d)
		for _, l := range lines {
			inj.byLine[l] = d
		}
	}
	for _, p := range inj.pulse {
		if p.encoder != nil {
			add(p.channel.String(), p.encoder.Line())
		}
	}
	for i, e := range inj.encoder {
		add(fmt.Sprintf("wheel %d", i), e.Lines()...)
	}
	inj.changed = make([][]signal.Edge, len(inj.wireFaults))
	for i, p := range inj.layout.Ports {
		d := newDisturbance(seed, p.Name, p.Line)
		d.rest = inj.layout.Lines[p.Line].Idle
		d.levels[0] = d.rest
		switch err := bench.Disturb(signal.Port(i), d); {
		case errors.Is(err, ErrNoDisturbing):
			return nil
		case err != nil:
			return err
		}
		inj.portFaults = append(inj.portFaults, d)
	}
	return nil
}

// calmDown forgets the faults of the last program; what is pending is still played.
func (inj *injection) calmDown() {
	for _, d := range inj.wireFaults {
		d.faults = d.faults[:0]
	}
	for _, d := range inj.portFaults {
		d.faults = d.faults[:0]
	}
}

// prepareDisturbance sets up a glitch or jitter on its wire, for a program that begins at start.
func (inj *injection) prepareDisturbance(f *stimulus.Fault, w wireRef, start signal.Time) error {
	if f.Kind == stimulus.Glitch && !(f.Rate > 0 && f.Rate <= 1e6 && f.Width > 0) {
		return fmt.Errorf("glitches on %s, %g a second, %v wide; give a rate of up to 1 MHz and a width, both above 0", f.Wire, f.Rate, f.Width)
	}
	if f.Kind == stimulus.Jitter && !(f.By > 0 && f.By <= 1) {
		return fmt.Errorf("jitter of %g s on %s; give one above 0 and up to 1 s", f.By, f.Wire)
	}
	var d *disturbance
	line := -1
	switch {
	case w.kind == encoderLine:
		d = inj.byLine[w.index]
		if d != nil {
			line = slices.Index(d.lines, signal.Line(w.index))
		}
	case w.kind == encoderWire:
		d = inj.byLine[inj.encoder[w.index].Lines()[0]]
	case w.kind == receiverWire && inj.pulse[w.index].encoder != nil:
		d = inj.byLine[inj.pulse[w.index].encoder.Line()]
	default:
		return inj.disturbPort(f, w, start)
	}
	if d == nil {
		return fmt.Errorf("line %q cannot have a %s; name a wire that the rig drives", f.Wire, f.Kind)
	}
	if !d.working {
		inj.levels(d)
		d.working = true
	}
	inj.disturbing = true
	d.begin(f, line, start)
	return nil
}

// portsAreCalm says whether no port's line is disturbed from a time on.
func (inj *injection) portsAreCalm(at signal.Time) bool {
	for _, d := range inj.portFaults {
		if !d.idle(at) {
			return false
		}
	}
	return true
}

// levels finds the present levels of a wire's lines.
func (inj *injection) levels(d *disturbance) {
	for i, l := range d.lines {
		d.levels[i] = false
		for _, e := range inj.encoder {
			d.levels[i] = d.levels[i] || e.Level(l)
		}
		for _, p := range inj.pulse {
			d.levels[i] = d.levels[i] || p.encoder != nil && p.encoder.Level(l)
		}
	}
}

// disturbPort sets up a glitch or jitter on the line of a port.
func (inj *injection) disturbPort(f *stimulus.Fault, w wireRef, start signal.Time) error {
	m := w.index
	if w.kind == receiverWire {
		m = inj.pulse[w.index].carrier
	}
	switch {
	case inj.portFaults == nil:
		return fmt.Errorf("this bench cannot put a %s on the serial line %s; play it on a simulated one", f.Kind, f.Wire)
	case inj.message[m].replier != nil:
		return fmt.Errorf("port %s answers requests and cannot have a %s; use lost, stuck or wrong_checksum", f.Wire, f.Kind)
	}
	inj.portFaults[inj.message[m].port].begin(f, -1, start)
	return nil
}
