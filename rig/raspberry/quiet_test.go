package raspberry

import (
	"context"
	"os"
	"runtime"
	"runtime/debug"
	"sync"
	"testing"

	"hilrig/rig/raspberry/realtime"
	"hilrig/rig/signal"
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
	k, err := keptHere()
	if err != nil {
		t.Fatal(err)
	}
	t.Log("this machine: ", k.Brief())
	if !k.BearsPulses() {
		t.Skip("it needs ", Needed())
	}
}

// keptHere measures, once, how well this machine keeps time.
var keptHere = sync.OnceValues(func() (*Kept, error) {
	defer debug.SetGCPercent(debug.SetGCPercent(-1))
	defer runtime.GOMAXPROCS(runtime.GOMAXPROCS(max(realtime.LeastProcs, runtime.NumCPU())))
	return TimingTrial{Bank: &Memory{}, For: signal.Second, Edges: 100e3}.Run(context.Background())
})
