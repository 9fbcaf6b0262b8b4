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
