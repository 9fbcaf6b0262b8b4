package realtime

import "sync/atomic"

// Ring hands values from one goroutine to another without locks: one puts, one
// takes. Indexes count up and wrap at 2^32. An index that the other side writes
// is read only when the own copy of it says that the ring is full or empty.
//
// Its fields are for the two sides' loops, which put and take many values at once: each side
// reads the other's index and writes its own last.
type Ring[T any] struct {
	Slot []T // value i lies at i&Mask
	Mask uint32
	_    [64]byte      // what each side writes has a cache line of its own
	Head atomic.Uint32 // the next to be taken; written by the one that takes
	_    [64]byte
	Tail atomic.Uint32 // behind the last that was put; written by the one that puts
	_    [64]byte
	Free uint32 // by the one that puts: up to here there is room
	_    [64]byte
	Full uint32 // by the one that takes: up to here there is something
}

// NewRing returns a ring for 1<<order values.
func NewRing[T any](order int) *Ring[T] {
	return &Ring[T]{Slot: make([]T, 1<<order), Mask: 1<<order - 1, Free: 1 << order}
}

// Room says whether n more values fit. Only the putting side may ask.
//
//go:nosplit
func (r *Ring[T]) Room(n int) bool {
	tail := r.Tail.Load()
	if uint64(n) <= uint64(r.Free-tail) {
		return true
	}
	r.Free = r.Head.Load() + uint32(len(r.Slot))
	return uint64(n) <= uint64(r.Free-tail)
}

// Empty says whether all was taken. Only the putting side may ask.
func (r *Ring[T]) Empty() bool { return r.Head.Load() == r.Tail.Load() }

// Oldest returns the value that is taken next, which must be there. Only the
// putting side may ask.
func (r *Ring[T]) Oldest() *T { return &r.Slot[r.Head.Load()&r.Mask] }
