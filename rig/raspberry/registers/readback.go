package registers

import (
	"fmt"

	"hilrig/rig/raspberry/realtime"
	"hilrig/rig/signal"
)

// The sampler reads driven lines, too, those of ports on devices among them: when
// pulses and messages were on their wires is told by the clock that stamps the
// board's answers. It leaves out the lines of encoders. Up to 1.5 million edges a second come
// there, nothing asks when a single one of them was played, and a sample that follows a
// write of the same loop tells no more than the time of the write: whether they were
// late is in the player's own log (overdue.go).

// readBack settles which lines are read back, and which the player has a log of.
func (b *Bench) readBack() {
	encoder := encoders(b.layout)
	for i, l := range b.layout.Lines {
		switch {
		case l.Direction != signal.Drive:
		case encoder[i]:
			b.loop.player.logged |= b.bit[i]
		default:
			b.back |= b.bit[i]
		}
	}
	for i := range b.ports {
		if p := &b.ports[i]; p.device != nil && p.uart.Inverted {
			b.loop.sampler.flip |= b.bit[p.uart.Line] // the inverter stands behind the pin
		}
	}
}

// Exact says that everything is on its wire when it is due, which no bench in real
// time can promise.
func (b *Bench) Exact() bool { return false }

// Samples says whether ReadBack tells of a driven line: not of an encoder's, nor of
// one without a pin.
func (b *Bench) Samples(line signal.Line) bool {
	return int(line) < len(b.bit) && b.back&b.bit[line] != 0
}

// ReadBack appends the edges of driven lines, port levels included, that were sampled
// since the last call; they are read from the first call on. After a gap longer than
// Settings.Blind lines without a change are told, too. That edges were lost, because
// nobody took them for long, is an error.
func (b *Bench) ReadBack(dst []signal.Edge) ([]signal.Edge, error) {
	if b.closed {
		return dst, errClosed
	}
	s := &b.loop.sampler
	if !b.reading {
		b.reading = true
		b.do(false, func(signal.Time) {
			s.level = s.level&^b.back | b.bank.Level()&b.back
			s.back, s.driven = b.back, realtime.NewRing[signal.Edge](17)
		})
	}
	dst = take(s.driven, dst, b.Now())
	if lost := s.drivenLost.Load(); lost != b.backLost {
		n := lost - b.backLost
		b.backLost = lost
		return dst, fmt.Errorf("bench on pins, at %v: %d edges that were read back were lost, as nobody took them in time", b.Now(), n)
	}
	return dst, nil
}

// LateStretches appends the stretches since the last call in which edges of encoders were
// played late.
func (b *Bench) LateStretches(dst []signal.LateStretch) []signal.LateStretch {
	b.present()
	r := b.loop.player.overdue.told
	head, tail := r.Head.Load(), r.Tail.Load()
	for ; head != tail; head++ {
		dst = append(dst, r.Slot[head&r.Mask])
	}
	r.Head.Store(head)
	return dst
}
