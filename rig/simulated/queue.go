package simulated

import (
	"sort"

	"hilrig/rig/signal"
)

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

// insert puts an edge, later than all that have been played, behind all that are not later.
func (q *queue) insert(e signal.Edge) {
	q.tidy()
	q.edges = signal.Insert(q.edges, e)
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
	coming := q.edges[q.head:]
	n := sort.Search(len(coming), func(i int) bool { return coming[i].At > t })
	q.head += n
	return coming[:n]
}

// drop empties the queue and returns what was still to be played, valid until the next push.
func (q *queue) drop() []signal.Edge {
	rest := q.edges[q.head:]
	q.edges, q.head = q.edges[:0], 0
	return rest
}
