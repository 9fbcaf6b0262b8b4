package simulated

import "hilrig/rig/signal"

// queue holds edges that are still to be played, in order of time.
type queue struct {
	edges []signal.Edge
	head  int // those before it have been played
}

func (q *queue) empty() bool { return q.head == len(q.edges) }

// push appends edges, none earlier than those in the queue.
func (q *queue) push(edges []signal.Edge) {
	q.tidy()
	q.edges = append(q.edges, edges...)
}

// insert puts an edge behind all that are not later.
func (q *queue) insert(e signal.Edge) {
	q.tidy()
	i := len(q.edges)
	q.edges = append(q.edges, e)
	for ; i > q.head && q.edges[i-1].At > e.At; i-- {
		q.edges[i] = q.edges[i-1]
	}
	q.edges[i] = e
}

// tidy makes room at the end once half of the slice has been played.
func (q *queue) tidy() {
	if q.head*2 >= len(q.edges) {
		n := copy(q.edges, q.edges[q.head:])
		q.edges, q.head = q.edges[:n], 0
	}
}

// due takes the edges up to and including t. They are valid until the next push.
func (q *queue) due(t signal.Time) []signal.Edge {
	lo, hi := q.head, len(q.edges)
	for lo < hi {
		mid := int(uint(lo+hi) / 2)
		if q.edges[mid].At <= t {
			lo = mid + 1
		} else {
			hi = mid
		}
	}
	due := q.edges[q.head:lo]
	q.head = lo
	return due
}

// drop empties the queue and returns what was still to be played, valid until the next push.
func (q *queue) drop() []signal.Edge {
	rest := q.edges[q.head:]
	q.edges, q.head = q.edges[:0], 0
	return rest
}
