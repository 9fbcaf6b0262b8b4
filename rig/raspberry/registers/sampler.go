package registers

import (
	"math"
	"sync/atomic"

	"hilrig/rig/raspberry/realtime"
	"hilrig/rig/signal"
)

// sampler stamps the changes of captured lines, and of driven ones that are read
// back. A change that a read is the first to show lies between the start of the read before it,
// which did not show it, and its own end: the clock is read on either side of each.
type sampler struct {
	mask       uint32 // captured lines
	back       uint32 // driven lines that are read back
	flip       uint32 // lines that are reported the other way round
	lineOf     [32]signal.Line
	leastLimit signal.Time // the shortest of limits
	limits     []gapLimit  // a gap longer than its limit is reported on a line
	level      uint32
	began      signal.Time // the start of the last read, or earlier
	ended      signal.Time // its end, or later
	captured   *realtime.Ring[signal.Edge]
	lost       atomic.Uint32               // edges that the ring had no room for
	driven     *realtime.Ring[signal.Edge] // nil while back is 0
	drivenLost atomic.Uint32
	gaps       realtime.Histogram
	usual      signal.Time        // about half of all gaps are longer: see follow
	last       signal.Time        // the newest gap, from before the read before to behind the last read
	stamps     realtime.Histogram // of last, now and then
}

// step takes the level of a read that began no earlier than began and has ended now.
//
//go:nosplit
func (s *sampler) step(level uint32, began, now signal.Time) {
	gap := now - s.began
	s.gaps.Add(now - s.ended)
	s.began, s.ended, s.last = began, now, gap
	tell := (level ^ s.level) & (s.mask | s.back)
	if tell == 0 && gap <= s.leastLimit {
		return
	}
	s.level = level
	if gap > s.leastLimit {
		tell |= s.hidden(gap) & (s.mask | s.back)
	}
	late := uint32(min(gap, math.MaxUint32))
	if captured := tell & s.mask; captured != 0 {
		s.tell(s.captured, &s.lost, captured, now, late)
	}
	if driven := tell & s.back; driven != 0 {
		s.tell(s.driven, &s.drivenLost, driven, now, late)
	}
}

// tell puts the level of each of lines into to.
//
//go:nosplit
func (s *sampler) tell(to *realtime.Ring[signal.Edge], lost *atomic.Uint32, lines uint32, now signal.Time, late uint32) {
	level := s.level ^ s.flip
	tail := to.Tail.Load()
	for bit := 0; lines != 0; bit, lines = bit+1, lines>>1 {
		if lines&1 == 0 {
			continue
		}
		if tail == to.Free {
			if to.Free = to.Head.Load() + uint32(len(to.Slot)); tail == to.Free {
				lost.Add(1)
				continue
			}
		}
		to.Slot[tail&to.Mask] = signal.Edge{At: now, Uncertainty: late, Line: s.lineOf[bit&31], Level: level>>bit&1 != 0}
		tail++
	}
	to.Tail.Store(tail)
}

// appendUntil appends the edges in r up to and including until to dst. Any goroutine may
// call it, one at a time.
func appendUntil(r *realtime.Ring[signal.Edge], dst []signal.Edge, until signal.Time) []signal.Edge {
	head, tail := r.Head.Load(), r.Tail.Load()
	for ; head != tail; head++ {
		e := r.Slot[head&r.Mask]
		if e.At > until {
			break
		}
		dst = append(dst, e)
	}
	r.Head.Store(head)
	return dst
}
