package realtime

import "runtime"

// Take asks for the scheduling for the calling goroutine, which gets a thread of its own
// that ends with it, and returns what was refused, each with the remedy. The one that
// waits for a bench needs a priority above the loop's.
func (s Scheduling) Take() (refused []string) {
	runtime.LockOSThread()
	return s.Ask()
}
