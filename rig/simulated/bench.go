// Package simulated is a bench in virtual time: the rig's edges and bytes go to
// a [board.Board] in this process, and the board's edges come back, as far apart
// in time as they would on wires and far faster than real time.
//
// A [Bench] queues what is driven, turns bytes into the levels of their serial
// line, and in Wait hands both to the board in order of time. What the board
// puts out passes through a [Sampler], which may be perfect or as coarse and
// as unsteady as a real one. A [Responding] sensor answers edges within a microsecond
// of virtual time.
//
// # Time
//
// signal.Time. Nothing looks at a clock, and what the board sees and what is
// captured do not depend on how time is cut into calls of Wait, save for
// answers of responders.
package simulated

import (
	"errors"
	"fmt"

	"hilrig/rig/board"
	"hilrig/rig/signal"
	"hilrig/stimulus/wire"
)

var errClosed = errors.New("simulated bench: it is closed; open a new one")

// Settings says what a bench is made of.
type Settings struct {
	Layout     signal.Layout
	Board      board.Board  // the bench closes it
	Sampler    Sampler      // the zero value is perfect
	EdgeOutput EdgeOutput   // the zero value is perfect
	Responders []Responding // sensors that answer edges
	// Tap, where there is one, is shown every edge: after each stretch of time those that
	// were driven in it, port levels included, and those that were captured, each in order
	// of time. It must not keep the slices.
	Tap func(driven, captured []signal.Edge)
}

// Bench is a board in virtual time with its wires. It is used by one goroutine.
type Bench struct {
	layout signal.Layout
	board  board.Board
	now    signal.Time
	until  signal.Time // up to which edges were handed over
	closed bool

	queue   queue
	planned []bool // level of each line once all that was handed over is played
	ports   []port
	portOf  []int16 // by line; -1 where it is no port's

	streams  [][]signal.Edge
	in, out  []signal.Edge
	captured []signal.Edge
	reading  bool          // driven lines are read back
	back     []signal.Edge // edges of driven lines, as sampled
	passed   []signal.Edge // what the sampler has to look at
	sampled  []signal.Edge
	sampler  sampler
	output   edgeOutput
	answers  responders
	tap      func(driven, captured []signal.Edge)
}

// New returns a bench at time 0, all driven lines at their idle level. A layout
// that does not hang together and a missing board are errors.
func New(s Settings) (*Bench, error) {
	if s.Board == nil {
		return nil, errors.New("simulated bench: no board; give it one")
	}
	b := &Bench{layout: s.Layout, board: s.Board, tap: s.Tap}
	b.planned = make([]bool, len(s.Layout.Lines))
	b.portOf = make([]int16, len(s.Layout.Lines))
	for i, l := range s.Layout.Lines {
		b.planned[i] = l.Idle
		b.portOf[i] = -1
	}
	for i, p := range s.Layout.Ports {
		uart, err := wire.NewUART(p)
		if err != nil {
			return nil, fmt.Errorf("simulated bench: %w", err)
		}
		if int(p.Line) >= len(s.Layout.Lines) || s.Layout.Lines[p.Line].Direction != signal.Drive {
			return nil, fmt.Errorf("simulated bench: port %s is on line %d, which is no driven line", p.Name, p.Line)
		}
		if s.Layout.Lines[p.Line].Idle == p.Inverted {
			return nil, fmt.Errorf("simulated bench: port %s rests at the other level than line %s does; make Idle the opposite of Inverted", p.Name, s.Layout.Lines[p.Line].Name)
		}
		if other := b.portOf[p.Line]; other >= 0 {
			return nil, fmt.Errorf("simulated bench: ports %s and %s share line %d", s.Layout.Ports[other].Name, p.Name, p.Line)
		}
		b.portOf[p.Line] = int16(i)
		b.ports = append(b.ports, port{uart: uart})
	}
	var err error
	if b.sampler, err = newSampler(s.Sampler, s.Layout); err != nil {
		return nil, err
	}
	if b.output, err = newEdgeOutput(s.EdgeOutput); err != nil {
		return nil, err
	}
	b.answers, err = newResponders(s.Responders, s.Layout)
	return b, err
}

// Layout is the table of lines that the indexes in edges refer to.
func (b *Bench) Layout() signal.Layout { return b.layout }

// Now is the virtual time since the run began.
func (b *Bench) Now() signal.Time { return b.now }

// Wait lets virtual time pass until t, or plays what is due at once where t is
// the present. A board that fails or breaks the rules of time is an error that
// names it.
func (b *Bench) Wait(t signal.Time) error {
	switch {
	case b.closed:
		return errClosed
	case t < b.now:
		return fmt.Errorf("simulated bench: wait until %v, which is past at %v", t, b.now)
	case b.answers.none():
		return b.advance(t)
	}
	for {
		step := min(b.now+b.answers.step, t)
		if err := b.advance(step); err != nil {
			return err
		}
		if err := b.answer(); err != nil {
			return err
		}
		if step == t {
			return nil
		}
	}
}

// advance hands the board what is due until t and takes what it puts out.
func (b *Bench) advance(t signal.Time) error {
	in := b.output.played(b.queue.due(t), t)
	pending := false
	for i := range b.ports {
		pending = pending || !b.ports[i].queue.empty() || b.ports[i].disturber != nil
	}
	if pending {
		b.streams = append(b.streams[:0], in)
		for i := range b.ports {
			b.streams = append(b.streams, b.ports[i].due(b.now, t))
		}
		b.in = signal.Merge(b.in[:0], b.streams)
		in = b.in
	}
	return b.run(in, t)
}

// run runs the board until t and checks and samples its edges.
func (b *Bench) run(in []signal.Edge, t signal.Time) error {
	out, err := b.board.Run(in, t, b.out[:0])
	b.out = out
	b.answers.seen(in, out)
	last := b.now
	b.now = t
	if err != nil {
		return fmt.Errorf("simulated bench, at %v: %w", t, err)
	}
	for _, e := range out {
		switch {
		case int(e.Line) >= len(b.layout.Lines):
			return fmt.Errorf("simulated bench: board %s put an edge on line %d, which the layout does not have", b.board.Name(), e.Line)
		case b.layout.Lines[e.Line].Direction != signal.Capture:
			return fmt.Errorf("simulated bench: board %s put an edge on %s, which the rig drives", b.board.Name(), b.layout.Lines[e.Line].Name)
		case e.At < last:
			return fmt.Errorf("simulated bench: board %s put an edge on %s at %v, after one at %v or a step that ended there", b.board.Name(), b.layout.Lines[e.Line].Name, e.At, last)
		case e.At > t:
			return fmt.Errorf("simulated bench: board %s put an edge on %s at %v, but was only run until %v", b.board.Name(), b.layout.Lines[e.Line].Name, e.At, t)
		}
		last = e.At
	}
	seen := len(b.captured)
	b.look(in, out, t)
	if b.tap != nil {
		b.tap(in, b.captured[seen:])
	}
	return nil
}

// Captured appends the edges of captured lines sampled since the last call.
func (b *Bench) Captured(dst []signal.Edge) ([]signal.Edge, error) {
	if b.closed {
		return dst, errClosed
	}
	dst = append(dst, b.captured...)
	b.captured = b.captured[:0]
	return dst, nil
}

// Restart power-cycles the board at the present. Driven lines go on.
func (b *Bench) Restart() error {
	if b.closed {
		return errClosed
	}
	if err := b.board.Restart(b.now); err != nil {
		return fmt.Errorf("simulated bench, at %v: %w", b.now, err)
	}
	return b.run(nil, b.now)
}

// Close makes the bench safe and closes the board. It may be called more than
// once; every other method that can fail does so from then on.
func (b *Bench) Close() error {
	if b.closed {
		return nil
	}
	err := b.Safe()
	b.closed = true
	return errors.Join(err, b.board.Close())
}
