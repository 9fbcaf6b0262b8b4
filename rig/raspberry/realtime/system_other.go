//go:build !linux

package realtime

import (
	"time"

	"hilrig/rig/signal"
)

// System is the machine's monotonic clock. Its zero value is ready, and it may be used
// by several goroutines.
type System struct{}

var started = time.Now()

// Now returns the time since the program was started.
func (System) Now() signal.Time { return signal.Time(time.Since(started)) }

// SleepUntil sleeps.
func (s System) SleepUntil(t signal.Time) { time.Sleep(time.Duration(t - s.Now())) }

// Pause lets time pass.
func Pause(t signal.Time) { time.Sleep(time.Duration(t)) }

// Sharpen does nothing: only Linux keeps timers apart by thread.
func Sharpen() {}

// Ask asks for nothing: only Linux grants scheduling.
func (s Scheduling) Ask() (denied []string) {
	if s != (Scheduling{}) {
		denied = []string{"a processor of its own, real-time priority, memory in RAM: this system is not Linux"}
	}
	return denied
}

// leaveTo does nothing: only Linux lets a program choose.
func leaveTo(Scheduling) error { return nil }
