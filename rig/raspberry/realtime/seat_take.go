package realtime

import "runtime"

// Take asks for the seat for the calling goroutine, which gets a thread of its own
// that ends with it, and returns what was refused, each with the cure. The one that
// waits for a bench needs a rank above the loop's.
func (s Seat) Take() (refused []string) {
	runtime.LockOSThread()
	return s.Ask()
}
