package hostlines

import (
	"sync/atomic"

	"hilrig/rig/signal"
)

// Requests are what others ask of the thread that plays: something to be done while it does
// nothing else. One may wait at a time.
type Requests struct{ next atomic.Pointer[request] }

type request struct {
	do   func(now signal.Time)
	last bool // the thread ends
	done chan struct{}
}

// Ask has something done, wakes the thread for it, and waits until it is done. A nil wake is
// for a thread that never sleeps.
func (r *Requests) Ask(last bool, do func(now signal.Time), wake func()) {
	asked := &request{do, last, make(chan struct{})}
	r.next.Store(asked)
	if wake != nil {
		wake()
	}
	<-asked.done
}

// Waiting says whether something is to be done.
//
//go:nosplit
func (r *Requests) Waiting() bool { return r.next.Load() != nil }

// Serve does what waits, and says whether the thread ends.
func (r *Requests) Serve(now signal.Time) (last bool) {
	asked := r.next.Load()
	asked.do(now)
	r.next.Store(nil)
	close(asked.done)
	return asked.last
}
