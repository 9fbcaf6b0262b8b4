//go:build full || realtime

package suites_test

import (
	"bytes"
	"fmt"
	"os"
	"path/filepath"
	"runtime"
	"runtime/debug"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"hilrig/rig"
	"hilrig/rig/board"
	"hilrig/rig/decode"
	"hilrig/rig/raspberry"
	"hilrig/rig/signal"
	"hilrig/suites"
	"hilrig/suites/demo"
	"hilrig/suites/file"
	"hilrig/suites/record"
)

// memoryBank is the built-in board behind a bank in memory, in real time.
func memoryBank() *suites.Real {
	return &suites.Real{
		Kind: "memory bank", Board: true, Restarts: true,
		Open: func(layout signal.Layout, b board.Board) (rig.Bench, error) {
			pins := make(raspberry.Pins, len(layout.Lines))
			for i := range pins {
				pins[i] = uint8(i)
			}
			m, err := raspberry.NewBoarded(b, layout, pins)
			if err != nil {
				return nil, err
			}
			return raspberry.New(raspberry.Settings{Layout: layout, Bank: m, Pins: pins, Formats: []decode.MotorKind{decode.ServoPulse}})
		},
	}
}

// realTimeFiles is the demo's car and bench with the suite that is short. The car
// allows its board so long a response that the checks bear wires which are late by what a
// machine without a processor to spare makes them, a millisecond.
func realTimeFiles(t testing.TB, board string) suites.Files {
	f := bramble(board)
	f.Car.Data = bytes.Replace(f.Car.Data, []byte("response: {at_most: 12 ms"), []byte("response: {at_most: 120 ms"), 1)
	require.NotEqual(t, demo.CarYAML, f.Car.Data)
	path := filepath.Join("testdata", "real_time.yaml")
	data, err := os.ReadFile(path)
	require.NoError(t, err)
	f.Suites = []file.Source{{Path: path, Data: data}}
	return f
}

// fitForRealTime makes the program fit to play in real time for the duration of a test. It
// skips the test unless somebody says with HILRIG_QUIET that no other tests run beside it.
func fitForRealTime(t testing.TB) {
	t.Helper()
	if os.Getenv("HILRIG_QUIET") == "" {
		t.Skip("keeps real time, and other tests may run beside it: bash .ci/run real-time runs it by itself")
	}
	collect, procs := debug.SetGCPercent(-1), runtime.GOMAXPROCS(max(4, runtime.NumCPU()))
	t.Cleanup(func() {
		runtime.GOMAXPROCS(procs)
		debug.SetGCPercent(collect)
	})
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
		require.NoError(t, s.On(memoryBank()))
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

// heldUp is how the checks of a run in real time stand beside those in virtual time:
// with the same verdict, left open by the rig's own timing, with another verdict.
type heldUp struct {
	same, open int
	other      []string
}

func heldAgainst(t *testing.T, want, got *record.Result) (h heldUp) {
	for i := range want.Suites {
		late := got.Suites[i].Timing
		require.NotNil(t, late, "real time is never perfect")
		for j := range want.Suites[i].Cases {
			w, g := &want.Suites[i].Cases[j], &got.Suites[i].Cases[j]
			require.Len(t, g.Checks, len(w.Checks), g.Name)
			for k := range w.Checks {
				switch c := &g.Checks[k]; {
				case c.Verdict == w.Checks[k].Verdict:
					h.same++
				case c.Verdict == record.Undecided && late.Late+late.Uncertain > 0:
					h.open++
				default:
					h.other = append(h.other, fmt.Sprintf("%s (%s), %s: %s in real time, %s in virtual time: %s", g.Name, g.Variant, c.Name, c.Verdict, w.Checks[k].Verdict, c.Why))
				}
			}
		}
	}
	return h
}

func TestRealTimeGivesTheVerdictsOfVirtualTime(t *testing.T) {
	fitForRealTime(t)
	t.Run("built-in", func(t *testing.T) { holdRealTime(t, realTimeFiles(t, "built-in"), "") })
	t.Run("yaw_sign", func(t *testing.T) { holdRealTime(t, realTimeFiles(t, "built-in:yaw_sign"), "branch") })
}
