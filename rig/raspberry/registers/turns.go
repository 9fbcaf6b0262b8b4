package registers

import (
	"hilrig/rig/raspberry/realtime"
	"hilrig/rig/raspberry/serial"
	"hilrig/rig/signal"
)

// Turns has the loop of a bench take its turns on a clock from outside, on the goroutine
// that uses the bench: time passes only while that waits, and what comes of it is the same
// on every machine, whatever else runs there. Several benches may share it, one at a time.
type Turns struct {
	// The clock is brought forward by the loop itself: a realtime.Manual, or one whose time
	// passes with it, as that of a supervisor's worker in one process with it. Where it wakes the loop
	// later than asked, that is a stall.
	Clock realtime.Clock
	// Turn is the time from one sample to the next; 0: 200 ns. The read of the bank takes all
	// of it, stalls too: an edge is stamped as up to two turns late, and a stall is told after two samples.
	Turn signal.Time
	// Stalls keep the loop from its next turn, each from a time of the clock on, in order.
	Stalls []Stall
	// Delays keep the one that waits: the first Wait that ends at or after At returns For
	// later, while the loop goes on. They are in order.
	Delays []Stall
}

// Stall is a time in which something that should have gone on stood still.
type Stall struct{ At, For signal.Time }

// defaultTurn is about what a turn takes on the registers of a Pi (from memory).
const defaultTurn = 200 * signal.Nanosecond

// turning is the loop of one bench that takes its turns on a clock from outside.
type turning struct {
	*Turns
	turn   signal.Time
	origin signal.Time // the clock's time at the bench's time 0
	at     signal.Time // of the bench: the last turn
	seen   uint32      // what it read
	loop   *ioLoop
	ports  []*serial.Port
	each   bool // no turn is left out
}

// foresees is a bank whose lines change by themselves, at times that it knows.
type foresees interface {
	// ahead returns when the next line changes, at most until, to which nothing is
	// written to the bank.
	ahead(until signal.Time) signal.Time
}

// newTurning returns the loop at time 0.
func newTurning(t *Turns, loop *ioLoop) *turning {
	turn := t.Turn
	if turn <= 0 {
		turn = defaultTurn
	}
	return &turning{Turns: t, turn: turn, origin: t.Clock.Now(), loop: loop}
}

// begin takes the first sample.
func (t *turning) begin() {
	t.seen = t.loop.bank.Level()
	t.loop.sampler.level = t.seen
	t.loop.sampler.began = -t.turn
	t.loop.sampler.allow(2 * t.turn)
}

// present takes the turns up to the clock's time.
func (t *turning) present() { t.until(t.Clock.Now() - t.origin) }

// until takes turns until the last one is at or after end, and lets time pass with them.
func (t *turning) until(end signal.Time) {
	s := t.loop
	for t.at < end {
		next := t.next(end)
		began := s.sampler.ended
		t.at = next
		if before := t.Clock.Now() - t.origin; before <= next {
			t.Clock.SleepUntil(t.origin + next)
			t.at = max(next, t.Clock.Now()-t.origin)
		}
		t.seen = s.bank.Level()
		s.sampler.step(t.seen, began, t.at)
		s.output.step(s.bank, t.at)
		for _, p := range t.ports {
			p.PutDue(t.at)
		}
		s.sampled.Store(int64(t.at))
	}
}

// next returns when the next turn begins in which something may happen, or the first one
// at or after end. Those before it, in which nothing does, it takes at once.
func (t *turning) next(end signal.Time) signal.Time {
	n := max(1, t.turns(t.soonest(end)))
	stalled := signal.Time(0)
	if len(t.Stalls) > 0 && t.Stalls[0].At-t.origin < t.at+n*t.turn {
		n = max(0, t.Stalls[0].At-t.origin-t.at)/t.turn + 1 // the turn that is kept from its work
		stalled = t.Stalls[0].For
		t.Stalls = t.Stalls[1:]
	}
	next := t.at + n*t.turn
	t.loop.sampler.skip(n-1, t.turn, next-t.turn)
	return next + stalled
}

// soonest returns when something may happen next, at most end.
func (t *turning) soonest(end signal.Time) signal.Time {
	if s := &t.loop.sampler; t.each || s.ended-s.began > t.turn || t.loop.bank.Level() != t.seen {
		return t.at // of a gap the loop tells after each of two samples
	}
	due := min(end, t.loop.output.due())
	for _, p := range t.ports {
		due = min(due, p.Due())
	}
	if b, ok := t.loop.bank.(foresees); ok && due > t.at {
		due = b.ahead(due)
	}
	return due
}

// turns returns how many turns it takes to get to or beyond due.
func (t *turning) turns(due signal.Time) signal.Time { return (due - t.at + t.turn - 1) / t.turn }

// wait takes turns until t is past and everything that was due by then is put out.
func (t *turning) wait(end signal.Time, played func(signal.Time) bool) {
	t.until(end)
	for !played(end) {
		t.until(t.at + t.turn)
	}
	if len(t.Delays) > 0 && t.Delays[0].At <= t.Clock.Now() {
		late := t.Delays[0].For
		t.Delays = t.Delays[1:]
		t.until(t.at + late)
	}
}

// due returns when the edge output has something to do next, [realtime.Never] where it has not.
func (p *edgeOutput) due() signal.Time {
	next := realtime.Never
	if p.lateLog.open.Count > 0 {
		next = p.lateLog.open.To + reportAfter + 1
	}
	for _, q := range p.queues {
		if q.Empty() {
			continue
		}
		c := q.Oldest()
		next = min(next, max(c.At, p.last[c.Group]+signal.Time(c.Apart)))
	}
	return next
}

// skip takes n samples that are turn apart, the last of them at last, which saw no change.
func (s *sampler) skip(n, turn, last signal.Time) {
	if n == 0 {
		return
	}
	first := last - (n-1)*turn
	s.gaps.Add(first - s.ended)
	s.gaps.AddMany(turn, uint64(n-1))
	s.began, s.ended = s.ended, last
	if n > 1 {
		s.began = last - turn
	}
}
