package realtime

import (
	"golang.org/x/sys/unix"

	"hilrig/rig/signal"
)

// Pause lets time pass. The calling thread sleeps by itself: it wakes by its own
// priority, and not when the one that keeps Go's timers gets round to it.
func Pause(t signal.Time) {
	span := unix.NsecToTimespec(int64(t))
	_ = unix.Nanosleep(&span, nil) // a signal may wake it early: who waits looks at the clock
}

// Sharpen has the calling thread woken when it asked to be, not with others.
func Sharpen() { unix.Prctl(unix.PR_SET_TIMERSLACK, 1, 0, 0, 0) }
