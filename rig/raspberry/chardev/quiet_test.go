package chardev

import (
	"os"
	"sync"
	"testing"

	"hilrig/rig/raspberry/registers"
)

// inRealTime skips a test that keeps real time, which no machine does while other tests run
// beside it: it runs where somebody says with HILRIG_QUIET that none do, and the machine,
// measured first, keeps time well enough.
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
		t.Skip("it needs ", registers.Needed())
	}
}

// timeKeptHere measures, once, how well this machine keeps time.
var timeKeptHere = sync.OnceValues(registers.MeasureTime)
