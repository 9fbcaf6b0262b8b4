package signal

import (
	"math"
	"slices"
)

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
	live := streams[:0] // those that have edges left, in their order
	for _, s := range streams {
		if len(s) > 0 {
			live = append(live, s)
		}
	}
	for len(live) > 1 {
		best, bestAt := 0, live[0][0].At
		second, secondIndex := Time(math.MaxInt64), 0 // the time up to which best may be copied without looking again
		for i := 1; i < len(live); i++ {
			switch at := live[i][0].At; {
			case at < bestAt:
				second, secondIndex = bestAt, best
				best, bestAt = i, at
			case at < second:
				second, secondIndex = at, i
			}
		}
		if best < secondIndex && second < math.MaxInt64 {
			second++ // of the same time the earlier stream comes first
		}
		s := live[best]
		n := 1
		for n < len(s) && s[n].At < second {
			n++
		}
		dst = append(dst, s[:n]...)
		live[best] = s[n:]
		if n == len(s) {
			live = append(live[:best], live[best+1:]...)
		}
	}
	if len(live) == 1 {
		dst = append(dst, live[0]...)
	}
	clear(streams)
	return dst
}
