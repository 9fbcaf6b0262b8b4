package registers

import (
	"errors"
	"fmt"

	"hilrig/rig/raspberry/hostlines"
	"hilrig/rig/raspberry/realtime"
	"hilrig/rig/raspberry/serial"
	"hilrig/rig/signal"
)

// Settings say what a [Bench] is made of. The formats of the motor commands decide how long a
// gap between samples is reported.
type Settings struct {
	hostlines.Settings
	PinBank PinBank
	// Lines are those of the bank one by one. The bench makes them ready, restarts the board
	// by them, and closes them. nil: the bank needs nothing of that.
	Lines hostlines.Lines
	// LongestGap is the longest gap between samples that is not reported on a line that is read; 0: what
	// the line carries decides, 5 us where that is not known.
	LongestGap signal.Time
	// Time has the loop take its turns on a clock from outside; nil: it has a thread of its own
	// and the machine's clock. Scheduling says nothing then.
	Time *Turns
}

// Bench plays into a bank and samples it, in real time.
type Bench struct {
	*hostlines.Bench
	on *pinBankBackend
}

// Timing is how well a bench kept time.
type Timing struct {
	Late realtime.Histogram // of edges played, after the time that they were planned for
	Gaps realtime.Histogram // from the end of one sample to the end of the next
	// Stamps are how uncertain an edge's stamp would have been, looked at every 5 us; empty where the loop
	// takes its turns on a clock from outside.
	Stamps realtime.Histogram
}

// New opens a bench at time 0 and brings every driven line to its idle level. Where it fails
// it closes Lines too.
func New(s Settings) (*Bench, error) {
	b, err := newBench(&s)
	if err != nil && s.Lines != nil {
		err = errors.Join(err, s.Lines.Close())
	}
	return b, err
}

func newBench(s *Settings) (*Bench, error) {
	if s.PinBank == nil {
		return nil, errors.New("bench on pins: no bank; give it one")
	}
	if err := s.Check(); err != nil {
		return nil, err
	}
	if s.Lines != nil {
		if err := makeReady(s.Lines, &s.Settings); err != nil {
			return nil, err
		}
	}
	m := &pinBankBackend{layout: s.Layout, bank: s.PinBank, lines: s.Lines, reset: s.Reset, loop: &ioLoop{bank: s.PinBank}}
	writer := s.Scheduling.Beside(s.Scheduling.Priority / 2)
	if s.Time == nil {
		m.clock = newClock()
	} else {
		m.turns = newTurning(s.Time, m.loop)
		m.clock = &clock{turns: m.turns}
		writer = serial.InTurns
	}
	m.loop.clock = m.clock
	m.watch(s)
	mask := make([]uint64, len(m.bit))
	for i, bit := range m.bit {
		mask[i] = uint64(bit)
	}
	b := &Bench{hostlines.New("bench on pins", &s.Settings, mask), m}
	if err := b.OpenPorts(s.Devices, m.clock.now, writer); err != nil {
		return nil, errors.Join(err, b.CloseDevices())
	}
	m.loop.output.queues = b.Queues
	m.sort(b.Bench)
	if board, ok := s.PinBank.(*SimulatedPinBank); ok {
		board.clock = m.clock
	}
	m.idle()
	b.Begin(m, m.begin(s.Scheduling))
	return b, nil
}

// makeReady makes lines what the bench uses them for: outputs at their idle levels, and
// inputs pulled to theirs, so that a wire that is off looks like a board that sends nothing.
// The pin of a UART is its driver's.
func makeReady(lines hostlines.Lines, s *hostlines.Settings) error {
	for i, l := range s.Layout.Lines {
		pin, pull := int(s.Pins[i]), hostlines.PullDown
		device := s.Device(signal.Line(i)) != ""
		if l.Idle || device { // it listens to an adapter, which rests high
			pull = hostlines.PullUp
		}
		var err error
		switch {
		case !s.Claims(signal.Line(i)):
		case l.Direction == signal.Drive && !device:
			err = lines.Output(pin, l.Idle)
		default:
			err = lines.Input(pin, pull)
		}
		if err != nil {
			return fmt.Errorf("line %s: %w", l.Name, err)
		}
	}
	if s.Reset > 0 {
		return lines.Output(s.Reset, true)
	}
	return nil
}

// Timing returns how well the bench kept time since it was opened.
func (b *Bench) Timing() (t Timing) {
	b.Look(func() {
		t = Timing{Late: b.on.loop.output.late, Gaps: b.on.loop.sampler.gaps, Stamps: b.on.loop.sampler.stamps}
	})
	return t
}
