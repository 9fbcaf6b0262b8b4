package hostlines

import (
	"errors"
	"fmt"

	"hilrig/rig"
	"hilrig/rig/raspberry/realtime"
	"hilrig/rig/raspberry/serial"
	"hilrig/rig/signal"
)

// Backend moves the lines of a [Bench] and tells their edges. All but what Do is given is
// called by the goroutine that uses the bench.
type Backend interface {
	// Present returns the time, once what was due by then was done.
	Present() signal.Time
	// Reported returns the time up to which the edges of captured lines are reported.
	Reported() signal.Time
	// Failed says why the backend cannot go on; nil while it can.
	Failed() error
	// Wait waits until t is past and reported, and played says that all edges up to t are put out.
	Wait(t signal.Time, played func(signal.Time) bool) error
	// Queued says that changes were queued, the first of which is due at a time.
	Queued(at signal.Time)
	// Do has something done by the thread that plays, while it does nothing else; it ends
	// where last is set.
	Do(last bool, do func(now signal.Time))
	// Rest brings every driven line to its idle level, within Do, and returns when they had it.
	Rest(now signal.Time) (signal.Time, error)
	// Captured, ReadBack, LateStretches and Samples are those of a [rig.Bench].
	Captured(dst []signal.Edge) ([]signal.Edge, error)
	ReadBack(dst []signal.Edge) ([]signal.Edge, error)
	LateStretches(dst []signal.LateStretch) []signal.LateStretch
	Samples(line signal.Line) bool
	// Restart is that of a [rig.Bench].
	Restart() error
	// Close gives the lines back. The thread that plays has ended.
	Close() error
}

// Bench is a bench on the lines of a header, in real time. It is used by one goroutine.
//
// An edge that is handed over late, its time past, is no error as long as it is not
// before an earlier call's until: it is played at once and counted as late.
type Bench struct {
	Queues []*Queue // the edges', then one of each port that is put out as levels
	Group  []uint8  // of each line
	Ports  []Port

	name    string // begins each error
	layout  signal.Layout
	mask    []uint64 // by line
	backend Backend
	denied  []string
	closed  bool
	done    func(signal.Time) bool // played, made a value once and not in every Wait

	until   signal.Time   // up to which edges were handed over
	waited  signal.Time   // what was last waited for
	ended   signal.Time   // up to which all was reported when it was closed
	planned []bool        // level of each line once all that was handed over is played
	before  []signal.Time // by group: its newest planned change
	portOf  []int16       // by line; -1: no port
}

// New returns a bench whose lines have the settings' idle levels, or will when [Bench.Begin]
// is called. Mask is what the backend calls each line. The settings are checked. Name begins
// each error.
func New(name string, s *Settings, mask []uint64) *Bench {
	b := &Bench{
		name: name, layout: s.Layout, mask: mask,
		Queues: []*Queue{realtime.NewRing[Change](17)},
		Group:  groups(s.Layout), before: make([]signal.Time, 256),
	}
	b.done = b.played
	for _, l := range s.Layout.Lines {
		b.planned = append(b.planned, l.Idle)
		b.portOf = append(b.portOf, -1)
	}
	return b
}

// Begin has the bench played by backend, which was denied something by the operating system.
func (b *Bench) Begin(backend Backend, denied []string) { b.backend, b.denied = backend, denied }

// Layout is the table of lines that the indexes in edges refer to.
func (b *Bench) Layout() signal.Layout { return b.layout }

// Denied says what the operating system did not grant, each with the cure; empty
// where it granted all.
func (b *Bench) Denied() []string { return b.denied }

// Now is the time up to which the edges of captured lines are reported.
func (b *Bench) Now() signal.Time {
	if b.closed {
		return b.ended
	}
	return b.backend.Reported()
}

// Present is the time by the bench's clock.
func (b *Bench) Present() signal.Time { return b.backend.Present() }

// at says what failed and when; nil where nothing did.
func (b *Bench) at(err error) error {
	if err != nil {
		return fmt.Errorf("%s, at %v: %w", b.name, b.backend.Present(), err)
	}
	return nil
}

// failed returns why the bench cannot go on.
func (b *Bench) failed() error {
	if b.closed {
		return fmt.Errorf("%s: it is closed; open a new one", b.name)
	}
	return b.at(b.backend.Failed())
}

// Wait waits until t is past and reported, and all edges up to t are put out.
func (b *Bench) Wait(t signal.Time) error {
	if err := b.failed(); err != nil {
		return err
	}
	b.waited = max(b.waited, t)
	return b.at(b.backend.Wait(t, b.done))
}

// played says whether all changes up to t are put out.
func (b *Bench) played(t signal.Time) bool {
	for _, q := range b.Queues {
		if !q.Empty() && q.Oldest().At <= t {
			return false
		}
	}
	return true
}

// Captured appends the edges of captured lines that were reported since the last call. That
// edges were lost, because nobody took them for long, is an error.
func (b *Bench) Captured(dst []signal.Edge) ([]signal.Edge, error) {
	if err := b.failed(); err != nil {
		return dst, err
	}
	dst, err := b.backend.Captured(dst)
	return dst, b.at(err)
}

// Exact says that not every edge is on its wire when it is due, which no bench in real
// time can promise.
func (b *Bench) Exact() bool { return false }

// Samples says whether ReadBack tells of a driven line.
func (b *Bench) Samples(line signal.Line) bool {
	return int(line) < len(b.mask) && b.backend.Samples(line)
}

// ReadBack appends the edges of driven lines, port levels included, that came out since
// the last call; they are read from the first call on. That edges were lost, because
// nobody took them for long, is an error.
func (b *Bench) ReadBack(dst []signal.Edge) ([]signal.Edge, error) {
	if err := b.failed(); err != nil {
		return dst, err
	}
	dst, err := b.backend.ReadBack(dst)
	return dst, b.at(err)
}

// LateStretches appends the stretches since the last call in which edges of driven lines
// that are not read back were played late.
func (b *Bench) LateStretches(dst []signal.LateStretch) []signal.LateStretch {
	return b.backend.LateStretches(dst)
}

// ResetFor is how long a board is held in reset, far longer than controllers ask for
// (common practice, no source).
const ResetFor = 50 * signal.Millisecond

// Reset holds the board's reset line low for a while.
func Reset(write func(level bool) error) error {
	err := write(false)
	realtime.Pause(ResetFor)
	if err = errors.Join(err, write(true)); err != nil {
		return fmt.Errorf("reset the board: %w", err)
	}
	return nil
}

// Restart restarts the board. What is driven goes on meanwhile.
func (b *Bench) Restart() error {
	if err := b.failed(); err != nil {
		return err
	}
	err := b.backend.Restart()
	if err == nil || errors.Is(err, rig.ErrNotPossible) {
		return err
	}
	return b.at(err)
}

// Safe brings every driven line to its idle level and drops what was handed over. It
// tries so where the bench has failed, too.
func (b *Bench) Safe() error {
	if b.closed {
		return nil
	}
	return errors.Join(b.makeSafe(false), b.eachDevice((*serial.Port).Safe))
}

// makeSafe makes the lines safe; the thread that plays ends where last is set.
func (b *Bench) makeSafe(last bool) (err error) {
	b.backend.Do(last, func(now signal.Time) { err = b.rest(now) })
	return err
}

// rest drops what was handed over and brings the lines to their idle levels, on the thread
// that plays.
func (b *Bench) rest(now signal.Time) error {
	Drop(b.Queues)
	now, err := b.backend.Rest(now)
	if err != nil {
		return fmt.Errorf("%s: make the lines safe: %w", b.name, err)
	}
	for i, l := range b.layout.Lines {
		b.planned[i] = l.Idle
	}
	for i := range b.Ports {
		b.Ports[i].busy = now
	}
	for i := range b.before {
		b.before[i] = now
	}
	b.until = now
	return nil
}

// Look has what the thread that plays has counted looked at.
func (b *Bench) Look(look func()) {
	if b.closed {
		look()
		return
	}
	b.backend.Do(false, func(signal.Time) { look() })
}

// Close makes the bench safe and gives the lines back. What an output does from then
// on is up to the chip's driver; most leave it as it is.
func (b *Bench) Close() error {
	if b.closed {
		return nil
	}
	safe := b.makeSafe(true)
	b.closed, b.ended = true, b.backend.Reported()
	return errors.Join(safe, b.CloseDevices(), b.backend.Close())
}

// Room says whether Drive takes n more edges.
func (b *Bench) Room(n int) bool { return b.Queues[0].Room(n) }

// Drive hands over the edges of driven lines up to until. On an error none of
// them is handed over.
func (b *Bench) Drive(edges []signal.Edge, until signal.Time) error {
	if err := b.failed(); err != nil {
		return err
	}
	switch {
	case until < b.until:
		return fmt.Errorf("%s: drive until %v, but edges were handed over until %v", b.name, until, b.until)
	case !b.Room(len(edges)):
		return fmt.Errorf("%s, at %v: no room for %d more edges; hand over less than a second at a time", b.name, b.Present(), len(edges))
	}
	if err := plan(b.planned, edges, b.until, until, b.drives); err != nil {
		return fmt.Errorf("%s: %w", b.name, err)
	}
	b.push(b.Queues[0], edges)
	b.until = until
	return nil
}

// drives says whether a line is one to be driven by edges.
func (b *Bench) drives(l signal.Line) bool {
	return b.portOf[l] < 0 && b.layout.Lines[l].Direction == signal.Drive
}

// push queues edges. The queue has room for them.
func (b *Bench) push(q *Queue, edges []signal.Edge) {
	b.backend.Present() // what was due before is put out before
	if len(edges) == 0 {
		return
	}
	tail := q.Tail.Load()
	for _, e := range edges {
		g := b.Group[e.Line]
		q.Slot[tail&q.Mask] = Change{At: e.At, Mask: b.mask[e.Line], Apart: apart(b.before[g], e.At), Line: e.Line, Group: g, Level: e.Level}
		b.before[g] = e.At
		tail++
	}
	q.Tail.Store(tail)
	b.backend.Queued(edges[0].At)
}
