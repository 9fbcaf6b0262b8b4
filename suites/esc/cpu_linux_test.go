package esc_test

import (
	"runtime"
	"syscall"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"hilrig/rig/signal"
	"hilrig/suites/esc"
)

// Three cycles of 21 levels take less than 2 s of a processor, whatever else the machine does.
func TestThreeCyclesTakeTwoSecondsOfAProcessor(t *testing.T) {
	if testing.Short() {
		t.Skip("the race detector takes its own")
	}
	runtime.LockOSThread()
	defer runtime.UnlockOSThread()
	const thisThread = 1 // RUSAGE_THREAD
	used := func() time.Duration {
		var u syscall.Rusage
		require.NoError(t, syscall.Getrusage(thisThread, &u))
		return time.Duration(u.Utime.Nano())
	}
	before := used()
	out := run(t, &esc.Setup{Stand: standFile(t), Seed: 1})
	took := used() - before
	t.Logf("%v of a processor for %v of the stand", took, out.Driving)
	assert.Less(t, took, 2*time.Second)
	assert.Greater(t, out.Driving, 100*signal.Second)
}
