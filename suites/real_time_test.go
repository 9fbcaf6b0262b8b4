//go:build full || realtime

package suites_test

import (
	"os"
	"runtime"
	"runtime/debug"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"hilrig/rig/raspberry/registers"
	"hilrig/rig/signal"
	"hilrig/suites"
)

// fitForRealTime makes the program fit to play in real time for the duration of a test. It
// skips the test unless somebody says with HILRIG_QUIET that no other tests run beside it, and
// the machine, measured first, keeps time well enough.
func fitForRealTime(t testing.TB) {
	t.Helper()
	if os.Getenv("HILRIG_QUIET") == "" {
		t.Skip("keeps real time, and other tests may run beside it: bash .ci/run rehearsals runs it by itself")
	}
	collect, procs := debug.SetGCPercent(-1), runtime.GOMAXPROCS(max(4, runtime.NumCPU()))
	t.Cleanup(func() {
		runtime.GOMAXPROCS(procs)
		debug.SetGCPercent(collect)
	})
	k, err := registers.TimingTrial{PinBank: &registers.Memory{}, For: signal.Second, Edges: 100e3}.Run(t.Context())
	require.NoError(t, err)
	t.Log("this machine: ", k.Brief())
	if !k.BearsPulses() {
		t.Skip("it needs ", registers.Needed())
	}
}

// attempts is how often real time is tried: whatever else runs here takes time from it.
const attempts = 3

// holdRealTime plays files in virtual and in real time until what real time decides
// is as in virtual time, and holds it to that. It is skipped where real time leaves most
// checks open.
func holdRealTime(t *testing.T, f suites.Files, only string) {
	want, _ := play(t, load(t, f), suites.Options{Only: only})
	var h heldUp
	for range attempts {
		s := load(t, f)
		require.NoError(t, s.On(memoryBank(nil)))
		began := time.Now()
		got, driving := play(t, s, suites.Options{Only: only})
		assert.Equal(t, "memory bank", got.Real)
		assert.InDelta(t, driving.Seconds(), time.Since(began).Seconds(), 5, "time was real")
		h = heldAgainst(t, want, got)
		t.Logf("%d checks as in virtual time, %d left open, %d otherwise; %v driven", h.same, h.open, len(h.other), driving)
		for i := range got.Suites {
			t.Logf("%s: %+v", got.Suites[i].Name, *got.Suites[i].Timing)
		}
		for _, o := range h.other {
			t.Log(o)
		}
		if len(h.other) == 0 && h.same > 3*h.open {
			return
		}
	}
	assert.Empty(t, h.other)
	if !t.Failed() && h.same <= h.open {
		t.Skip("this machine does not keep time well enough to decide most checks")
	}
}

func TestRealTimeGivesTheVerdictsOfVirtualTime(t *testing.T) {
	fitForRealTime(t)
	t.Run("built-in", func(t *testing.T) { holdRealTime(t, realTimeFiles(t, "built-in"), "") })
	t.Run("yaw_sign", func(t *testing.T) { holdRealTime(t, realTimeFiles(t, "built-in:yaw_sign"), "branch") })
}
