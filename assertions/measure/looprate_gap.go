package measure

import "math"

// movedBy is by how many of its noises an output has to be expected to move, for a value that
// stands to tell that nothing was read.
const movedBy = 8

// longest returns the longest stretch without a new reading that the frames show, s: at least
// and at most so long. Only frames that come more often than the loop turns show one; it is
// empty where there is none.
func (s *search) longest(noise float64) Interval {
	var found Interval
	c := s.exact.curve
	for i := 1; i < len(s.all); i++ {
		last, first := &s.all[i], &s.all[i-1]
		if !last.same || last.gap {
			continue
		}
		expected := c.at(last.at-s.age) - c.at(first.at-s.age)
		if math.Abs(expected) < movedBy*max(noise, last.half) || last.at-first.at <= found.Low {
			continue
		}
		found = Interval{last.at - first.at, last.at - first.at + 2*s.frame}
	}
	return found
}
