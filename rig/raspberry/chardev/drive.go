//go:build linux

package chardev

import (
	"fmt"

	"hilrig/rig/raspberry/realtime"
	"hilrig/rig/raspberry/registers"
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
	case !b.drive.Room(len(edges)):
		return fmt.Errorf("bench on the character device, at %v: no room for %d more edges; hand over less than a second at a time", b.clock(), len(edges))
	}
	if err := registers.Plan(b.planned, edges, b.until, until, b.drives); err != nil {
		return fmt.Errorf("bench on the character device: %w", err)
	}
	b.push(b.drive, edges)
	b.until = until
	return nil
}

// drives says whether a line is one to be driven by edges.
func (b *CharBench) drives(l signal.Line) bool {
	return b.portOf[l] < 0 && b.bit[l] != 0
}

// push queues edges. The queue has room for them.
func (b *CharBench) push(q *realtime.Ring[charChange], edges []signal.Edge) {
	if len(edges) == 0 {
		return
	}
	tail := q.Tail.Load()
	for _, e := range edges {
		g := b.group[e.Line]
		q.Slot[tail&q.Mask] = charChange{at: e.At, bit: b.bit[e.Line], line: e.Line, level: e.Level, group: g, apart: registers.Apart(b.before[g], e.At)}
		b.before[g] = e.At
		tail++
	}
	q.Tail.Store(tail)
	b.play.wake(edges[0].At)
}
