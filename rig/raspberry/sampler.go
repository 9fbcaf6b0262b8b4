package raspberry

import (
	"math"
	"sync/atomic"

	"hilrig/rig/signal"
)

// sampler stamps the changes of captured lines. A change seen by one read lies
// after the start of the read before it.
type sampler struct {
	mask     uint32 // captured lines
	lineOf   [32]signal.Line
	blind    signal.Time // a gap longer than this is told on every captured line
	level    uint32
	began    signal.Time // no later than the start of the read before this one
	ended    signal.Time // the end of that read
	captured *ring[signal.Edge]
	lost     atomic.Uint32 // edges that the ring had no room for
	gaps     Histogram
}

// step takes the level of a read that ended now.
//
//go:nosplit
func (s *sampler) step(level uint32, now signal.Time) {
	gap := now - s.began
	s.began, s.ended = s.ended, now
	s.gaps.add(now - s.began)
	changed := (level ^ s.level) & s.mask
	if changed == 0 && gap <= s.blind {
		return
	}
	s.level = level
	tell := changed
	if gap > s.blind {
		tell = s.mask
	}
	late := uint32(min(gap, math.MaxUint32))
	tail := s.captured.tail.Load()
	for bit := 0; tell != 0; bit, tell = bit+1, tell>>1 {
		if tell&1 == 0 {
			continue
		}
		if tail == s.captured.free {
			if s.captured.free = s.captured.head.Load() + uint32(len(s.captured.slot)); tail == s.captured.free {
				s.lost.Add(1)
				continue
			}
		}
		s.captured.slot[tail&s.captured.mask] = signal.Edge{At: now, Late: late, Line: s.lineOf[bit&31], Level: level>>bit&1 != 0}
		tail++
	}
	s.captured.tail.Store(tail)
}

// take appends what was captured up to and including until to dst. Any goroutine
// may call it, one at a time.
func (s *sampler) take(dst []signal.Edge, until signal.Time) []signal.Edge {
	head, tail := s.captured.head.Load(), s.captured.tail.Load()
	for ; head != tail; head++ {
		e := s.captured.slot[head&s.captured.mask]
		if e.At > until {
			break
		}
		dst = append(dst, e)
	}
	s.captured.head.Store(head)
	return dst
}
