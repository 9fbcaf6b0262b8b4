package registers

import (
	"errors"
	"fmt"
	"sync/atomic"

	"hilrig/rig"
	"hilrig/rig/raspberry/hostlines"
	"hilrig/rig/raspberry/realtime"
	"hilrig/rig/signal"
)

// pinBankBackend moves the lines of a bench that are those of a bank.
type pinBankBackend struct {
	layout signal.Layout
	clock  *clock
	loop   *ioLoop
	turns  *turning // takes the loop's turns on a clock from outside; nil: it has a thread of its own
	bank   PinBank
	lines  hostlines.Lines // nil: the bank needs none
	reset  int
	closed bool

	bit       []uint32 // by line
	high, low uint32   // the driven lines, by their idle levels
	lost      uint32   // captured edges, as reported
	back      uint32   // the lines to be read back
	reading   bool     // they are
	backLost  uint32
}

// watch has the sampler look at the captured lines, each gap of which is reported as long as the
// settings say.
func (m *pinBankBackend) watch(s *Settings) {
	sampler := &m.loop.sampler
	m.loop.output.lateLog.reported = realtime.NewRing[signal.LateStretch](12)
	sampler.captured = realtime.NewRing[signal.Edge](17)
	gaps := longestGaps(s.Layout, s.Formats)
	for i, l := range s.Layout.Lines {
		m.bit = append(m.bit, 1<<s.Pins[i])
		if m.bit[i] != 0 {
			sampler.lineOf[s.Pins[i]] = signal.Line(i)
		}
		if s.LongestGap > 0 {
			gaps[i] = s.LongestGap
		}
		sampler.limit(m.bit[i], gaps[i], s.LongestGap == 0 && gaps[i] <= startUsual)
		if l.Direction == signal.Capture {
			sampler.mask |= m.bit[i]
		}
	}
}

// sort settles which lines are driven and to which levels, which are read back, and which
// the edge output has a log of.
//
// The sampler reads driven lines, too, those of ports on devices among them: when
// pulses and messages were on their wires is known by the clock that stamps the
// board's answers. It leaves out the lines of encoders. Up to 1.5 million edges a second come
// there, nothing asks when a single one of them was played, and a sample that follows a
// write of the same loop tells no more than the time of the write: whether they were
// late is in the edge output's own log (late_log.go).
func (m *pinBankBackend) sort(b *hostlines.Bench) {
	for i, l := range m.layout.Lines {
		if l.Direction != signal.Drive {
			continue
		}
		if l.Role.Quadrature() || l.Role == signal.Tacho {
			m.loop.output.logged |= m.bit[i]
		} else {
			m.back |= m.bit[i]
		}
		switch p := b.PortOf(signal.Line(i)); {
		case p != nil && p.Device != nil:
			if p.UART.Inverted {
				m.loop.sampler.flip |= m.bit[i] // the inverter stands behind the pin
			}
			if m.turns != nil {
				m.turns.ports = append(m.turns.ports, p.Device)
			}
		case l.Idle:
			m.high |= m.bit[i]
		default:
			m.low |= m.bit[i]
		}
	}
}

// begin begins to play, and returns what of the scheduling was denied.
func (m *pinBankBackend) begin(scheduling realtime.Scheduling) []string {
	if m.turns != nil {
		m.turns.begin()
		return nil
	}
	denied := make(chan []string, 1)
	go m.loop.run(scheduling, denied)
	return append(<-denied, uninterrupted...)
}

// Present has a loop whose clock comes from outside take its turns up to the present.
func (m *pinBankBackend) Present() signal.Time {
	if m.turns != nil && !m.closed {
		m.turns.present()
	}
	return m.clock.now()
}

// Reported is the time up to which the lines have been sampled.
func (m *pinBankBackend) Reported() signal.Time {
	m.Present()
	return signal.Time(m.loop.sampled.Load())
}

// Failed says why the board behind a bank in memory has failed.
func (m *pinBankBackend) Failed() error {
	if board, ok := m.bank.(*SimulatedPinBank); ok {
		return board.Err()
	}
	return nil
}

// Wait waits until t is past, sampled, and all edges up to t are put out.
func (m *pinBankBackend) Wait(t signal.Time, played func(signal.Time) bool) error {
	if m.turns != nil {
		m.turns.present()
		m.turns.wait(t, played)
		return m.Failed()
	}
	for {
		if left := t - m.clock.now(); left > 0 {
			realtime.Pause(left)
			continue
		}
		if m.Reported() >= t && played(t) {
			return m.Failed()
		}
		realtime.Pause(20 * signal.Microsecond)
	}
}

// Queued has nothing to do: the loop looks at its queues in every turn.
func (m *pinBankBackend) Queued(signal.Time) {}

// Do has something done between two samples, the last of them where last is set.
func (m *pinBankBackend) Do(last bool, do func(now signal.Time)) {
	if m.turns == nil {
		m.loop.requests.Ask(last, do, nil)
		return
	}
	m.Present()
	do(m.turns.at)
}

// Rest writes the idle level of every driven line.
func (m *pinBankBackend) Rest(now signal.Time) (signal.Time, error) {
	m.idle()
	return now, nil
}

func (m *pinBankBackend) idle() {
	m.bank.Clear(m.low)
	m.bank.Set(m.high)
}

// Captured appends the edges of captured lines.
func (m *pinBankBackend) Captured(dst []signal.Edge) ([]signal.Edge, error) {
	dst = appendUntil(m.loop.sampler.captured, dst, m.Reported())
	return dst, untaken(&m.loop.sampler.lost, &m.lost, "captured edges")
}

// untaken says how many edges more than were reported before were lost as nobody took them.
func untaken(lost *atomic.Uint32, reported *uint32, what string) error {
	n := lost.Load() - *reported
	if n == 0 {
		return nil
	}
	*reported += n
	return fmt.Errorf("%d %s were lost, as nobody took them in time", n, what)
}

// Samples says whether ReadBack tells of a driven line: not of an encoder's, nor of
// one without a pin.
func (m *pinBankBackend) Samples(line signal.Line) bool { return m.back&m.bit[line] != 0 }

// ReadBack appends the edges of driven lines. After a gap longer than Settings.LongestGap lines
// without a change are reported, too.
func (m *pinBankBackend) ReadBack(dst []signal.Edge) ([]signal.Edge, error) {
	s := &m.loop.sampler
	if !m.reading {
		m.reading = true
		m.Do(false, func(signal.Time) {
			s.level = s.level&^m.back | m.bank.Level()&m.back
			s.back, s.driven = m.back, realtime.NewRing[signal.Edge](17)
		})
	}
	dst = appendUntil(s.driven, dst, m.Reported())
	return dst, untaken(&s.drivenLost, &m.backLost, "edges that were read back")
}

// LateStretches appends the stretches in which edges of encoders were played late.
func (m *pinBankBackend) LateStretches(dst []signal.LateStretch) []signal.LateStretch {
	m.Present()
	r := m.loop.output.lateLog.reported
	head, tail := r.Head.Load(), r.Tail.Load()
	for ; head != tail; head++ {
		dst = append(dst, r.Slot[head&r.Mask])
	}
	r.Head.Store(head)
	return dst
}

// Restart holds the board's reset line low for a while, and power-cycles the board behind a
// bank in memory.
func (m *pinBankBackend) Restart() (err error) {
	if board, ok := m.bank.(*SimulatedPinBank); ok {
		m.Do(false, func(signal.Time) { err = board.restart() })
		return err
	}
	if m.reset == 0 || m.lines == nil {
		return rig.ErrNotPossible
	}
	return hostlines.Reset(func(level bool) error { return m.lines.Write(m.reset, level) })
}

// Close closes a board in memory, and lines, which keep their levels.
func (m *pinBankBackend) Close() (err error) {
	m.closed = true
	if board, ok := m.bank.(*SimulatedPinBank); ok {
		err = board.board.Close()
	}
	if m.lines != nil {
		err = errors.Join(err, m.lines.Close())
	}
	return err
}
