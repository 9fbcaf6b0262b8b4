package raspberry

import "sync/atomic"

// ring hands values from one goroutine to another without locks: one puts, one
// takes. Indexes count up and wrap at 2^32. An index that the other side writes
// is read only when the own copy of it says that the ring is full or empty.
type ring[T any] struct {
	slot []T
	mask uint32
	_    [64]byte // what each side writes has a cache line of its own
	head atomic.Uint32
	_    [64]byte
	tail atomic.Uint32
	_    [64]byte
	free uint32 // by the one that puts: up to here there is room
	_    [64]byte
	full uint32 // by the one that takes: up to here there is something
}

// newRing returns a ring for 1<<order values.
func newRing[T any](order int) *ring[T] {
	return &ring[T]{slot: make([]T, 1<<order), mask: 1<<order - 1, free: 1 << order}
}

// room says whether n more values fit. Only the putting side may ask.
//
//go:nosplit
func (r *ring[T]) room(n int) bool {
	tail := r.tail.Load()
	if uint64(n) <= uint64(r.free-tail) {
		return true
	}
	r.free = r.head.Load() + uint32(len(r.slot))
	return uint64(n) <= uint64(r.free-tail)
}

// empty says whether all was taken. Only the putting side may ask.
func (r *ring[T]) empty() bool { return r.head.Load() == r.tail.Load() }

// oldest returns the value that is taken next, which must be there. Only the
// putting side may ask.
func (r *ring[T]) oldest() *T { return &r.slot[r.head.Load()&r.mask] }
