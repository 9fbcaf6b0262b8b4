//go:build linux

package raspberry

import (
	"fmt"

	"hilrig/rig/signal"
)

// Drive hands over the edges of driven lines up to until. On an error none of
// them is handed over.
func (b *CharBench) Drive(edges []signal.Edge, until signal.Time) error {
	if err := b.failed(); err != nil {
		return err
	}
	switch {
	case until < b.until:
		return fmt.Errorf("bench on the character device: drive until %v, but edges were handed over until %v", until, b.until)
	case !b.drive.room(len(edges)):
		return fmt.Errorf("bench on the character device, at %v: no room for %d more edges; hand over less than a second at a time", b.clock(), len(edges))
	}
	last := b.until
	for i, e := range edges {
		if int(e.Line) >= len(b.planned) || e.At < last || e.At > until || b.planned[e.Line] == e.Level ||
			b.portOf[e.Line] >= 0 || b.bit[e.Line] == 0 {
			for _, back := range edges[:i] {
				b.planned[back.Line] = !b.planned[back.Line]
			}
			return fmt.Errorf("bench on the character device: driven edge at %v on line %d to %t is of the past, of no driven line, out of order or later than %v, or repeats the line's level; edges were handed over until %v", e.At, e.Line, e.Level, until, b.until)
		}
		b.planned[e.Line] = e.Level
		last = e.At
	}
	b.push(b.drive, edges)
	b.until = until
	return nil
}

// push queues edges. The queue has room for them.
func (b *CharBench) push(q *ring[charChange], edges []signal.Edge) {
	if len(edges) == 0 {
		return
	}
	tail := q.tail.Load()
	for _, e := range edges {
		g := b.group[e.Line]
		q.slot[tail&q.mask] = charChange{at: e.At, bit: b.bit[e.Line], line: e.Line, level: e.Level, group: g, apart: apart(b.before[g], e.At)}
		b.before[g] = e.At
		tail++
	}
	q.tail.Store(tail)
	b.play.wake(edges[0].At)
}
