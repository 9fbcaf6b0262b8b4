package registers

import (
	"errors"
	"fmt"

	"hilrig/rig"
	"hilrig/rig/decode"
	"hilrig/rig/raspberry/realtime"
	"hilrig/rig/signal"
)

var errClosed = errors.New("bench on pins: it is closed; open a new one")

// Settings say what a [Bench] is made of.
type Settings struct {
	Layout     signal.Layout
	Bank       Bank
	Pins       Pins                // by line of Layout, each once
	Scheduling realtime.Scheduling // of the loop
	// Formats are those of the motor commands on the captured lines; empty: they are not known.
	Formats []decode.MotorKind
	// Blind is the longest gap between samples that is not told on a line that is read; 0: what
	// the line carries decides, 5 us where that is not known.
	Blind signal.Time
	// Devices are the serial devices of ports by name, "/dev/ttyAMA0". The bench reads the
	// line of such a port and does not write it; its pin may be NoPin. A port without a
	// device is put out as levels of its line.
	Devices map[string]string
	// Time has the loop take its turns on a clock from outside; nil: it has a thread of its own
	// and the machine's clock. Scheduling says nothing then.
	Time *Turns
	// Feed is called at the end of every Wait in which all was played and sampled, by
	// the goroutine that waits: it says that loop and tick are alive. nil disables it.
	// It neither blocks nor allocates.
	Feed func()
}

// Bench plays into a bank and samples it, in real time. It is used by one goroutine.
//
// An edge that is handed over late, its time past, is no error as long as it is not
// before an earlier call's until: it is played at once and counted as late.
type Bench struct {
	layout  signal.Layout
	clock   *clock
	loop    *spinner
	turns   *turning // takes the loop's turns on a clock from outside; nil: it has a thread of its own
	bank    Bank
	refused []string
	feed    func()
	closed  bool

	until   signal.Time // up to which edges were handed over
	waited  signal.Time // what was last waited for
	drive   *realtime.Ring[change]
	bit     []uint32 // by line
	group   []uint8
	planned []bool        // level of each line once all that was handed over is played
	before  []signal.Time // by group: its newest planned change
	ports   []port
	portOf  []int16 // by line; -1: no port
	lost    uint32  // captured edges, as told

	back     uint32 // the lines to be read back
	reading  bool   // they are
	backLost uint32
}

// Timing is how well a bench kept time.
type Timing struct {
	Late realtime.Histogram // of edges played, after the time that they were planned for
	Gaps realtime.Histogram // from the end of one sample to the end of the next
}

// New opens a bench at time 0 and brings every driven line to its idle level.
func New(s Settings) (*Bench, error) {
	if s.Bank == nil {
		return nil, errors.New("bench on pins: no bank; give it one")
	}
	if err := CheckPinsBut(s.Layout, s.Pins, s.Devices); err != nil {
		return nil, err
	}
	b := &Bench{layout: s.Layout, bank: s.Bank, feed: s.Feed, drive: realtime.NewRing[change](17)}
	b.group, b.before = Groups(s.Layout), make([]signal.Time, 32)
	b.loop = &spinner{bank: s.Bank, player: player{queues: []*realtime.Ring[change]{b.drive}}}
	if s.Time == nil {
		b.clock = newClock()
	} else {
		b.turns = newTurning(s.Time, b.loop)
		b.clock = &clock{turns: b.turns}
	}
	b.loop.clock = b.clock
	b.loop.player.overdue.told = realtime.NewRing[signal.LateStretch](12)
	b.loop.sampler.captured = realtime.NewRing[signal.Edge](17)
	gaps := longestGaps(s.Layout, s.Formats)
	for i, l := range s.Layout.Lines {
		b.bit = append(b.bit, 1<<s.Pins[i])
		b.planned = append(b.planned, l.Idle)
		b.portOf = append(b.portOf, -1)
		if b.bit[i] != 0 {
			b.loop.sampler.lineOf[s.Pins[i]] = signal.Line(i)
		}
		if s.Blind > 0 {
			gaps[i] = s.Blind
		}
		b.loop.sampler.limit(b.bit[i], gaps[i])
		if l.Direction == signal.Capture {
			b.loop.sampler.mask |= b.bit[i]
		}
	}
	if err := b.openPorts(s.Devices, s.Scheduling.Priority); err != nil {
		return nil, errors.Join(err, b.closePorts())
	}
	b.readBack()
	if m, ok := s.Bank.(*Boarded); ok {
		m.clock = b.clock
	}
	b.idle()
	if b.turns != nil {
		b.turns.begin()
		return b, nil
	}
	refused := make(chan []string, 1)
	go b.loop.run(s.Scheduling, refused)
	b.refused = <-refused
	return b, nil
}

// checkPins refuses a line without a pin of its own.
func checkPins(layout signal.Layout, pins Pins) error { return CheckPinsBut(layout, pins, nil) }

// CheckPinsBut is checkPins, but lets ports with a device go without.
func CheckPinsBut(layout signal.Layout, pins Pins, devices map[string]string) error {
	if len(pins) != len(layout.Lines) {
		return fmt.Errorf("bench on pins: %d lines and %d pins; give each line one", len(layout.Lines), len(pins))
	}
	var taken [32]string
	for i, p := range pins {
		name := layout.Lines[i].Name
		if p == NoPin && devices[name] != "" {
			continue
		}
		if p > 31 {
			return fmt.Errorf("bench on pins: %s is on GPIO%d; a bank has GPIO0 to GPIO31", name, p)
		}
		if taken[p] != "" {
			return fmt.Errorf("bench on pins: %s and %s are both on GPIO%d; give each a pin of its own", taken[p], name, p)
		}
		taken[p] = name
	}
	return nil
}

// Layout is the table of lines that the indexes in edges refer to.
func (b *Bench) Layout() signal.Layout { return b.layout }

// Refused says what the operating system did not grant, each with the cure; empty
// where it granted all.
func (b *Bench) Refused() []string { return b.refused }

// Now is the time up to which the lines have been sampled.
func (b *Bench) Now() signal.Time {
	b.present()
	return signal.Time(b.loop.sampled.Load())
}

// present has a loop whose clock comes from outside take its turns up to the present.
func (b *Bench) present() {
	if b.turns != nil && !b.closed {
		b.turns.present()
	}
}

// do has something done between two samples, the last of them where last is set.
func (b *Bench) do(last bool, do func(now signal.Time)) {
	if b.turns == nil {
		b.loop.do(last, do)
		return
	}
	b.present()
	do(b.turns.at)
}

// Wait waits until t is past, sampled, and all edges up to t are put out.
func (b *Bench) Wait(t signal.Time) error {
	if b.closed {
		return errClosed
	}
	b.waited = max(b.waited, t)
	if b.turns != nil {
		b.turns.present()
		b.turns.wait(t, b.played)
		return b.fed()
	}
	for {
		if left := t - b.clock.now(); left > 0 {
			realtime.Pause(left)
			continue
		}
		if b.Now() >= t && b.played(t) {
			return b.fed()
		}
		realtime.Pause(20 * signal.Microsecond)
	}
}

// fed says that loop and tick are alive, and whether the board is.
func (b *Bench) fed() error {
	if b.feed != nil {
		b.feed()
	}
	return b.failed()
}

// played says whether all changes up to t are put out.
func (b *Bench) played(t signal.Time) bool {
	for _, q := range b.loop.player.queues {
		if !q.Empty() && q.Oldest().at <= t {
			return false
		}
	}
	return true
}

func (b *Bench) failed() error {
	if m, ok := b.bank.(*Boarded); ok && m.Err() != nil {
		return fmt.Errorf("bench on pins, at %v: %w", b.Now(), m.Err())
	}
	return nil
}

// Captured appends the edges of captured lines sampled since the last call. That
// edges were lost, because nobody took them for long, is an error.
func (b *Bench) Captured(dst []signal.Edge) ([]signal.Edge, error) {
	if b.closed {
		return dst, errClosed
	}
	dst = b.loop.sampler.take(dst, b.Now())
	if lost := b.loop.sampler.lost.Load(); lost != b.lost {
		n := lost - b.lost
		b.lost = lost
		return dst, fmt.Errorf("bench on pins, at %v: %d captured edges were lost, as nobody took them in time", b.Now(), n)
	}
	return dst, nil
}

// Restart power-cycles the board behind a bank in memory; a board on pins has
// nothing to do it with yet.
func (b *Bench) Restart() error {
	m, ok := b.bank.(*Boarded)
	switch {
	case b.closed:
		return errClosed
	case !ok:
		return rig.ErrNotPossible
	}
	var err error
	b.do(false, func(signal.Time) { err = m.restart() })
	return err
}

// Safe brings every driven line to its idle level and drops what was handed over.
func (b *Bench) Safe() error {
	if b.closed {
		return nil
	}
	b.do(false, b.makeSafe)
	return b.safePorts()
}

// makeSafe runs on the loop's thread.
func (b *Bench) makeSafe(now signal.Time) {
	b.loop.player.drop()
	b.idle()
	for i, l := range b.layout.Lines {
		b.planned[i] = l.Idle
	}
	for i := range b.ports {
		b.ports[i].busy = now
	}
	for i := range b.before {
		b.before[i] = now
	}
	b.until = now
}

// idle writes the idle level of every driven line.
func (b *Bench) idle() {
	var set, clear uint32
	for i, l := range b.layout.Lines {
		switch {
		case l.Direction != signal.Drive || b.onDevice(signal.Line(i)):
		case l.Idle:
			set |= b.bit[i]
		default:
			clear |= b.bit[i]
		}
	}
	b.bank.Clear(clear)
	b.bank.Set(set)
}

// Timing returns how well the bench kept time since it was opened.
func (b *Bench) Timing() (t Timing) {
	read := func(signal.Time) { t = Timing{Late: b.loop.player.late, Gaps: b.loop.sampler.gaps} }
	if b.closed {
		read(0)
	} else {
		b.do(false, read)
	}
	return t
}

// Close makes the bench safe, ends its loop and closes a board in memory.
func (b *Bench) Close() error {
	if b.closed {
		return nil
	}
	b.do(true, b.makeSafe)
	b.closed = true
	err := b.closePorts()
	if m, ok := b.bank.(*Boarded); ok {
		err = errors.Join(err, m.board.Close())
	}
	return err
}

// Drive hands over the edges of driven lines up to until. On an error none of
// them is handed over.
func (b *Bench) Drive(edges []signal.Edge, until signal.Time) error {
	switch {
	case b.closed:
		return errClosed
	case until < b.until:
		return fmt.Errorf("bench on pins: drive until %v, but edges were handed over until %v", until, b.until)
	case !b.drive.Room(len(edges)):
		return fmt.Errorf("bench on pins, at %v: no room for %d more edges; hand over less than a second at a time", b.Now(), len(edges))
	}
	if err := Plan(b.planned, edges, b.until, until, b.drives); err != nil {
		return fmt.Errorf("bench on pins: %w", err)
	}
	b.present()
	b.push(b.drive, edges)
	b.until = until
	return nil
}

// drives says whether a line is one to be driven by edges.
func (b *Bench) drives(l signal.Line) bool {
	return b.portOf[l] < 0 && b.layout.Lines[l].Direction == signal.Drive
}

// push queues edges. The queue has room for them.
func (b *Bench) push(q *realtime.Ring[change], edges []signal.Edge) {
	tail := q.Tail.Load()
	for _, e := range edges {
		g := b.group[e.Line] & 31
		c := change{at: e.At, group: g, apart: Apart(b.before[g], e.At)}
		b.before[g] = e.At
		if e.Level {
			c.set = b.bit[e.Line]
		} else {
			c.clear = b.bit[e.Line]
		}
		q.Slot[tail&q.Mask] = c
		tail++
	}
	q.Tail.Store(tail)
}
