package registers

import (
	"runtime"
	"sync/atomic"

	"hilrig/rig/raspberry/hostlines"
	"hilrig/rig/raspberry/realtime"
	"hilrig/rig/signal"
)

// reportAfter is how long the loop goes on before it says again how far it is.
const reportAfter = 5 * signal.Microsecond

// ioLoop is the loop that plays and samples. Between two requests nothing in it
// can be preempted by Go: the garbage collector has to be off meanwhile, or the
// whole program would wait for the loop. LOOP.md says why it is Go and not C.
type ioLoop struct {
	requests hostlines.Requests
	clock    *clock
	bank     PinBank
	output   edgeOutput
	sampler  sampler
	reported signal.Time  // as reported last
	sampled  atomic.Int64 // the end of a read, all changes up to which are in the ring
}

// run runs the loop, on a thread of its own, in this scheduling. It tells what of the
// scheduling was denied before it begins.
func (s *ioLoop) run(scheduling realtime.Scheduling, denied chan<- []string) {
	runtime.LockOSThread() // never unlocked: a thread with a priority of its own ends with its goroutine
	denied <- scheduling.Ask()
	s.sampler.began = s.clock.now()
	s.sampler.level = s.bank.Level()
	s.sampler.ended = s.clock.reached()
	s.reported = s.sampler.ended
	s.sampler.allow(startUsual)
	for {
		s.spin()
		s.reported = s.clock.reached()
		if s.requests.Serve(s.reported) {
			return
		}
	}
}

// spin plays and samples until there is a request.
//
//go:nosplit
func (s *ioLoop) spin() {
	for {
		began := s.clock.now()
		level := s.bank.Level()
		now := s.clock.reached()
		s.sampler.step(level, began, now)
		s.output.step(s.bank, now)
		if now-s.reported >= reportAfter {
			s.reported = now
			s.sampler.follow()
			s.sampled.Store(int64(now))
			if s.requests.Waiting() {
				return
			}
		}
	}
}
