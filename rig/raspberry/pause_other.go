//go:build !linux

package raspberry

import (
	"time"

	"hilrig/rig/signal"
)

// pause lets time pass.
func pause(t signal.Time) { time.Sleep(time.Duration(t)) }
