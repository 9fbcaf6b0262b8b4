package registers

import (
	"os"
	"sync"
	"testing"

	"hilrig/rig/signal"
)

// Spans are written as so many of these.
const (
	ms = signal.Millisecond
	us = signal.Microsecond
)

// inRealTime skips a test that keeps real time, which no machine does while other tests run
// beside it: it runs where somebody says with HILRIG_QUIET that none do, and the machine,
// measured first, keeps time well enough. What such tests hold is held on a clock of their
// own by others, which always run.
func inRealTime(t testing.TB) {
	t.Helper()
	if os.Getenv("HILRIG_QUIET") == "" {
		t.Skip("keeps real time: bash .ci/run real-time runs it by itself")
	}
	k, err := timeKeptHere()
	if err != nil {
		t.Fatal(err)
	}
	t.Log("this machine: ", k.Brief())
	if !k.BearsPulses() {
		t.Skip("it needs ", Needed())
	}
}

// timeKeptHere measures, once, how well this machine keeps time.
var timeKeptHere = sync.OnceValues(MeasureTime)
