package signal

import "slices"

// Insert puts e into edges, which are in order of time, behind all that are not later, and
// returns the extended slice.
func Insert(edges []Edge, e Edge) []Edge {
	i := len(edges)
	for i > 0 && edges[i-1].At > e.At {
		i--
	}
	return slices.Insert(edges, i, e)
}

// Merge appends the edges of all streams to dst in order of time and returns
// the extended slice. Each stream has to be in order of time already. Edges of
// the same time keep the order of their streams, and within a stream their own
// order. It allocates only where dst has no room; streams is consumed: on
// return each of its slices is empty.
func Merge(dst []Edge, streams [][]Edge) []Edge {
	for {
		best := -1
		var bestAt Time
		second := Time(1<<63 - 1) // the time up to which best may be copied without looking again
		secondIndex := 0
		for i, s := range streams {
			if len(s) == 0 {
				continue
			}
			at := s[0].At
			switch {
			case best < 0:
				best, bestAt = i, at
			case at < bestAt:
				second, secondIndex = bestAt, best
				best, bestAt = i, at
			case at < second:
				second, secondIndex = at, i
			}
		}
		if best < 0 {
			return dst
		}
		s := streams[best]
		n := 0
		for n < len(s) && (s[n].At < second || s[n].At == second && best < secondIndex) {
			n++
		}
		if n == 0 { // a tie that an earlier stream wins: cannot be, but never loop
			n = 1
		}
		dst = append(dst, s[:n]...)
		streams[best] = s[n:]
	}
}
