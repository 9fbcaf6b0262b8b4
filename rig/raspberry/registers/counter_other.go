//go:build !amd64 && !arm64

package registers

import "time"

// Here the operating system is asked: nothing counts that every program may read.
func counterFit() bool { return false }

func count() uint64 { return uint64(time.Since(epoch)) }

func nanosecondsPerCount() uint64 { return 1 << 32 }
