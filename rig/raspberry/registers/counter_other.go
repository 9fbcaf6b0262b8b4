//go:build !amd64 && !arm64

package registers

import (
	"runtime"
	"time"
)

// uninterrupted says what a loop lacks here: to ask the operating system for the time is a call in which Go may stop it.
var uninterrupted = []string{"a loop that Go does not interrupt: this is a build for " + runtime.GOARCH + "; build with GOARCH=arm64, which also runs on the 64-bit kernel of a 32-bit system"}

// Here the operating system is asked: nothing counts that every program may read.
func counterFit() bool { return false }

func count() uint64 { return uint64(time.Since(epoch)) }

func nanosecondsPerCount() uint64 { return 1 << 32 }
