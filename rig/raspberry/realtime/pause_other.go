//go:build !linux

package realtime

import (
	"time"

	"hilrig/rig/signal"
)

// Pause lets time pass.
func Pause(t signal.Time) { time.Sleep(time.Duration(t)) }

// Sharpen does nothing: only Linux keeps timers apart by thread.
func Sharpen() {}
