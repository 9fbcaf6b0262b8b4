package realtime

import (
	"golang.org/x/sys/unix"

	"hilrig/rig/signal"
)

// System is the machine's monotonic clock, which all of its processes share. Its zero
// value is ready, and it may be used by several goroutines.
type System struct{}

// Now returns the time since the machine was started, as CLOCK_MONOTONIC has it.
func (System) Now() signal.Time {
	var ts unix.Timespec
	_ = unix.ClockGettime(unix.CLOCK_MONOTONIC, &ts) // it cannot fail: the clock exists and ts is ours
	return signal.Time(ts.Nano())
}

// SleepUntil has the calling thread sleep by itself: it wakes by its own priority, and
// not when the one that keeps Go's timers gets round to it. A signal wakes it early.
func (System) SleepUntil(t signal.Time) {
	ts := unix.NsecToTimespec(int64(t))
	_ = unix.ClockNanosleep(unix.CLOCK_MONOTONIC, unix.TIMER_ABSTIME, &ts, nil)
}
