package stand

import (
	"errors"
	"fmt"

	"hilrig/rig/signal"
)

// step is how far the machine is turned at once.
const step = 250 * signal.Microsecond

// mostSpeed is above what a motor on a stand turns at, in rad/s.
const mostSpeed = 20_000

// Stand is a stand in virtual time: a board.Board. It is used by one goroutine, but for its I2C.
type Stand struct {
	settings Settings
	esc      ESC
	circuit  circuit
	bus      *bus
	throttle line
	levels   []bool // of the lines, as put out
	closed   bool

	tick      signal.Time // of the next step
	firmware  firmware
	shaft     shaft
	hand      hand
	encoder   encoder
	cell      cell
	telemetry telemetry
	converter converter

	// What is due on the lines, in the order in which it goes out where times are the same.
	turns, frames, bits queue
}

// queue holds edges that are still to come.
type queue struct {
	edges []signal.Edge
	head  int
}

// due returns when the next edge is.
func (q *queue) due() signal.Time {
	if q.head == len(q.edges) {
		return never
	}
	return q.edges[q.head].At
}

// tidy moves what is left to the front.
func (q *queue) tidy() {
	n := copy(q.edges, q.edges[q.head:])
	q.edges, q.head = q.edges[:n], 0
}

// New returns a stand at time 0, its shaft at rest and its controller not yet armed. The error says
// which setting is wrong.
func New(s Settings, esc ESC) (*Stand, error) {
	s, esc = s.withDefaults(), esc.withDefaults()
	if err := s.check(); err != nil {
		return nil, fmt.Errorf("stand settings: %w", err)
	}
	if err := esc.check(); err != nil {
		return nil, fmt.Errorf("controller %q: %w", esc.Name, err)
	}
	a := &Stand{
		settings: s, esc: esc, circuit: newCircuit(&s, &esc), bus: newBus(s.Converter),
		throttle: findLine(s.Layout, signal.ThrottleCommand), encoder: newEncoder(&s),
	}
	for _, l := range s.Layout.Lines {
		a.levels = append(a.levels, l.Idle)
	}
	a.begin(0)
	return a, nil
}

// begin has everything begin at a time, at rest.
func (s *Stand) begin(at signal.Time) {
	s.tick = at
	s.firmware = newFirmware(&s.esc, s.settings.Throttle, at)
	s.encoder.sector, s.encoder.last = 0, at
	s.shaft = newShaft(&s.settings, s.encoder.start())
	s.hand = hand{speeds: s.settings.Load.Hand, since: at}
	s.cell = newCell(&s.settings, at)
	s.telemetry = newTelemetry(&s.settings, &s.esc, at)
	s.converter = newConverter(&s.settings, at, s.bus)
}

// newCircuit returns the circuit of a stand.
func newCircuit(s *Settings, esc *ESC) circuit {
	return circuit{
		voltage: s.Pack.Voltage, sag: s.Pack.Resistance, supply: s.Pack.CurrentLimit,
		resistance: s.Motor.Resistance, constant: s.Motor.TorqueConstant,
		limit: esc.CurrentLimit, synchronous: esc.Synchronous,
	}
}

// Name says which controller is on the stand: "stand:linear".
func (s *Stand) Name() string { return "stand:" + s.esc.Name }

// Truth returns what a measurement should find.
func (s *Stand) Truth() Truth {
	return Truth{esc: s.esc, circuit: s.circuit, motor: s.settings.Motor, inertia: s.settings.Load.Inertia}
}

// Hang puts a mass in kg on the load cell, in place of the one that hung there.
func (s *Stand) Hang(mass float64) { s.settings.Cell.Mass, s.cell.settings.Mass = mass, mass }

var errClosed = errors.New("simulated stand: it is closed; make a new one")

// Run takes the driven edges that were not handed over before, in order of time, none later than
// until, runs the stand up to and including until, and appends its own edges in order of time. It keeps
// no reference to in.
func (s *Stand) Run(in []signal.Edge, until signal.Time, out []signal.Edge) ([]signal.Edge, error) {
	if s.closed {
		return out, errClosed
	}
	s.advance(in, until)
	return s.put(until, out), nil
}

// advance lets time pass. At one time the machine comes first, then the converter, then edges: those of
// the time until may also come with the next call.
func (s *Stand) advance(in []signal.Edge, until signal.Time) {
	for {
		cell := s.cell.due()
		at := min(s.tick, cell)
		if len(in) > 0 && in[0].At < at {
			s.edge(in[0])
			in = in[1:]
			continue
		}
		switch {
		case at > until:
			return
		case s.tick <= cell:
			s.turn()
		default:
			s.bits.edges = s.cell.act(at, s.bits.edges)
		}
	}
}

// edge takes one edge of the rig.
func (s *Stand) edge(e signal.Edge) {
	switch {
	case e.Line == s.throttle.index:
		s.firmware.receiver.edge(e.Level, e.At)
	case s.cell.clock.there && e.Line == s.cell.clock.index:
		s.bits.edges = s.cell.tick(e.Level, e.At, s.bits.edges)
	}
}

// turn goes one step on from the time tick.
func (s *Stand) turn() {
	at := s.tick
	s.tick += step
	f := &s.firmware
	if at >= f.next {
		f.loop(at)
	}
	if s.converter.next <= at {
		s.converter.convert()
	}
	push, pushed := s.hand.acts(at, f.receiver.heard, s.shaft.speed)
	d := s.drive(at)
	var m motion
	if pushed {
		m = s.shaft.pushed(push)
	} else {
		m = s.shaft.turn(float64(s.settings.Motor.TorqueConstant*d.current), d.slope)
	}
	if m.speed != 0 || m.half != 0 {
		s.turns.edges = s.encoder.pass(&m, s.shaft.ripple(), at, s.turns.edges)
		s.shaft.angle = m.at(m.lasts)
	}
	f.warm(d.current)
	s.cell.add(s.shaft.reaction)
	s.telemetry.add(&d)
	s.converter.add(&d)
	if s.telemetry.next < s.tick {
		s.frames.edges = s.telemetry.send(ambient+f.heat, s.shaft.speed, s.frames.edges)
	}
}

// drive returns what the winding takes in the step that begins now.
func (s *Stand) drive(at signal.Time) drive {
	f := &s.firmware
	switch {
	case len(s.hand.speeds) > 0 && at-f.receiver.heard >= silence: // it is unplugged
		return drive{voltage: s.circuit.voltage}
	case f.duty != 0:
		return s.circuit.at(f.duty, s.shaft.speed)
	case s.esc.Brakes:
		return s.circuit.shorted(s.shaft.speed)
	}
	return drive{voltage: s.circuit.voltage}
}

// put appends what is due up to until.
func (s *Stand) put(until signal.Time, out []signal.Edge) []signal.Edge {
	for {
		q := &s.turns
		if s.frames.due() < q.due() {
			q = &s.frames
		}
		if s.bits.due() < q.due() {
			q = &s.bits
		}
		if q.due() > until {
			break
		}
		e := q.edges[q.head]
		s.levels[e.Line] = e.Level
		out = append(out, e)
		q.head++
	}
	s.turns.tidy()
	s.frames.tidy()
	s.bits.tidy()
	return out
}

// Restart is a power cycle of the whole stand: everything begins anew, and somebody stops the shaft.
func (s *Stand) Restart(at signal.Time) error {
	if s.closed {
		return errClosed
	}
	s.advance(nil, at)
	for _, q := range []*queue{&s.turns, &s.frames, &s.bits} {
		q.cut(at)
	}
	s.rest(at, &s.turns, s.encoder.a, s.encoder.b)
	s.rest(at, &s.frames, s.telemetry.line)
	s.rest(at, &s.bits, s.cell.data)
	throttle, clock := s.firmware.receiver.level, s.cell.high
	s.begin(at)
	s.firmware.receiver.level, s.cell.high, s.cell.edge = throttle, clock, at
	return nil
}

// cut drops what comes after a time.
func (q *queue) cut(at signal.Time) {
	n := len(q.edges)
	for n > q.head && q.edges[n-1].At > at {
		n--
	}
	q.edges = q.edges[:n]
}

// rest has lines go to their level at rest, by edges of their queue.
func (s *Stand) rest(at signal.Time, q *queue, lines ...line) {
	for _, l := range lines {
		if !l.there {
			continue
		}
		level := s.levels[l.index]
		for _, e := range q.edges[q.head:] {
			if e.Line == l.index {
				level = e.Level
			}
		}
		if level != l.idle {
			q.edges = append(q.edges, signal.Edge{At: at, Line: l.index, Level: l.idle})
		}
	}
}

// Close ends the stand. It may be called more than once.
func (s *Stand) Close() error {
	s.closed = true
	return nil
}
