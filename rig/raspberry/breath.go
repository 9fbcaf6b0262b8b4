package raspberry

import (
	"strings"

	"hilrig/rig/signal"
)

// breath is how a loop that has no processor of its own lets others have it.
type breath struct {
	every  signal.Time // 0: never
	length signal.Time
	drawn  signal.Time // when last
	others uint32      // lines whose edges may come late by a breath: those of encoders
}

// How far a breath may be put off until no edge is due meanwhile: until no other than an
// encoder's is, and at all. A breath is longer than asked for.
const (
	putOff     = 2
	putOffMost = 20
	overslept  = 120 * signal.Microsecond
)

// Breathe makes the reader stand still for length, a little more at least, about
// every so often, when no edge is due meanwhile: a machine on which it has no processor
// of its own needs that time, and stops a reader with a rank for far longer where it
// does not get it. Call it before the bench is opened.
func (m *Boarded) Breathe(every, length signal.Time) {
	m.breath = breath{every: every, length: length}
	for i, l := range m.lines {
		for _, end := range []string{"_a", "_b", "_index"} {
			if l.Direction == signal.Drive && strings.HasSuffix(l.Name, end) {
				m.breath.others |= 1 << m.pins[i]
			}
		}
	}
}

// due takes a breath if it is time for one, and says whether it did.
//
//go:nosplit
func (b *breath) due(now signal.Time, p *player) bool {
	since := now - b.drawn
	if since < b.every {
		return false
	}
	horizon := now + b.length + overslept
	if since < putOffMost*b.every && p.anyDue(horizon, 0) && (since < putOff*b.every || p.anyDue(horizon, b.others)) {
		return false
	}
	breathe(b.length)
	b.drawn = now
	return true
}

// anyDue says whether a change is due before horizon, changes of the lines except
// not counted. It looks at the next few only: where they are all of those lines, a
// further one may be.
//
//go:nosplit
func (p *player) anyDue(horizon signal.Time, except uint32) bool {
	for _, q := range p.queues {
		head, tail := q.head.Load(), q.tail.Load()
		for range 16 {
			if head == tail {
				break
			}
			c := &q.slot[head&q.mask]
			if c.at >= horizon {
				break
			}
			if (c.set|c.clear)&^except != 0 {
				return true
			}
			head++
		}
	}
	return false
}
