package registers

import (
	"fmt"
	"sync/atomic"

	"hilrig/rig/board"
	"hilrig/rig/raspberry/hostlines"
	"hilrig/rig/signal"
)

// SimulatedPinBank is a bank in memory with a board behind it, whose time is real. Each
// read runs the board up to the present: a stall of the reader is a gap between
// its samples and stalls the board as well, so that no edge is seen at a wrong time
// unawares.
type SimulatedPinBank struct {
	board   board.Board
	clock   *clock // the bench's
	lines   []signal.LineSpec
	pins    hostlines.Pins
	lineOf  [32]int16 // -1: nothing
	level   uint32
	ran     signal.Time
	in, out []signal.Edge
	next    int     // of out: the first that is not on its line yet
	shown   PinBank // is given every level; nil disables that
	failure atomic.Pointer[error]
}

// NewSimulatedPinBank puts a board behind a bank. Line i of layout is on GPIO pins[i]. The
// bench that the bank is given to runs the board, and closes it.
func NewSimulatedPinBank(b board.Board, layout signal.Layout, pins hostlines.Pins) (*SimulatedPinBank, error) {
	if err := (&hostlines.Settings{Layout: layout, Pins: pins}).Check(); err != nil {
		return nil, err
	}
	m := &SimulatedPinBank{board: b, lines: layout.Lines, pins: pins}
	for i := range m.lineOf {
		m.lineOf[i] = -1
	}
	for i, l := range layout.Lines {
		m.lineOf[pins[i]] = int16(i)
		if l.Idle {
			m.level |= 1 << pins[i]
		}
	}
	return m, nil
}

// Share has every level of the board's lines in another bank too, for others to see.
// It is called before the bank is used.
func (m *SimulatedPinBank) Share(shown PinBank) {
	var mine uint32
	for _, pin := range m.pins {
		mine |= 1 << pin
	}
	m.shown = shown
	m.show(mine)
}

// show writes the levels of mask where others see them.
func (m *SimulatedPinBank) show(mask uint32) {
	if m.shown != nil && mask != 0 {
		m.shown.Clear(mask &^ m.level)
		m.shown.Set(mask & m.level)
	}
}

// Set makes lines high.
func (m *SimulatedPinBank) Set(mask uint32) { m.write(mask&^m.level, true) }

// Clear makes lines low.
func (m *SimulatedPinBank) Clear(mask uint32) { m.write(mask&m.level, false) }

func (m *SimulatedPinBank) write(changed uint32, level bool) {
	m.level ^= changed
	m.show(changed)
	now := max(m.clock.now(), m.ran)
	for bit := 0; changed != 0; bit, changed = bit+1, changed>>1 {
		if line := m.lineOf[bit&31]; changed&1 != 0 && line >= 0 {
			m.in = append(m.in, signal.Edge{At: now, Line: signal.Line(line), Level: level})
		}
	}
}

// Level runs the board up to the present and reads all lines. After the board
// has failed its lines stay as they are; [SimulatedPinBank.Err] says why.
func (m *SimulatedPinBank) Level() uint32 {
	now := m.clock.now()
	if now >= m.ran {
		m.run(now)
	}
	before := m.level
	for ; m.next < len(m.out) && m.out[m.next].At <= now; m.next++ {
		e := m.out[m.next]
		if bit := uint32(1) << m.pins[e.Line]; e.Level {
			m.level |= bit
		} else {
			m.level &^= bit
		}
	}
	m.show(m.level ^ before)
	return m.level
}

// run runs the board up to a time not before its last, unless it has failed.
func (m *SimulatedPinBank) run(until signal.Time) {
	if m.failure.Load() != nil {
		return
	}
	if m.next == len(m.out) {
		m.next, m.out = 0, m.out[:0]
	}
	old := len(m.out)
	out, err := m.board.Run(m.in, until, m.out)
	m.in, m.out, m.ran = m.in[:0], out, until
	for i, e := range out[old:] {
		if int(e.Line) >= len(m.pins) || m.lines[e.Line].Direction != signal.Capture {
			m.out = out[:old+i]
			m.fail(fmt.Errorf("board %s put an edge on line %d, which is not its to drive", m.board.Name(), e.Line))
			return
		}
	}
	if err != nil {
		m.fail(err)
	}
}

// ahead runs the board ahead of the present, up to until at most, and returns when it puts
// its next edge out, or until. Nothing may be written to the bank before that.
func (m *SimulatedPinBank) ahead(until signal.Time) signal.Time {
	if m.next == len(m.out) && until > m.ran {
		m.run(until)
	}
	if m.next < len(m.out) {
		return min(until, m.out[m.next].At)
	}
	return until
}

func (m *SimulatedPinBank) fail(err error) { m.failure.Store(&err) }

// Err says why the board failed, nil while it runs.
func (m *SimulatedPinBank) Err() error {
	if e := m.failure.Load(); e != nil {
		return *e
	}
	return nil
}

// restart is a power cycle of the board.
func (m *SimulatedPinBank) restart() error { return m.board.Restart(m.ran) }
