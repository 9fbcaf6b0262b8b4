package assertions_test

import (
	"sync"
	"testing"

	"github.com/stretchr/testify/assert"

	"hilrig/assertions"
	"hilrig/rig/signal"
	"hilrig/rig/trace"
)

// TestJudgeIsSafeForConcurrentUse judges one case by every check at once. Its rig was
// late in each step, so that the checks work out which commands to leave out. The race
// detector tells where one of them writes what another reads.
func TestJudgeIsSafeForConcurrentUse(t *testing.T) {
	e := bench{board: good, policy: lossPolicy()}.play(onDemand(1), held(1, 0.7), named("other", 1))
	for i := range e.Steps {
		from := e.Steps[i].From + 50*signal.Millisecond
		e.Trace.Delays = append(e.Trace.Delays, trace.Delay{From: from, To: from + 2*signal.Millisecond, Worst: signal.Millisecond})
	}
	repeat := *e
	e.Repeats = []*assertions.Evidence{&repeat}
	checks := allChecks()
	leftOut := 0
	var want [][]assertions.Result
	for _, c := range checks {
		want = append(want, assertions.Judge(c, e))
		for _, r := range want[len(want)-1] {
			leftOut += r.LeftOut
		}
	}
	assert.NotZero(t, leftOut, "otherwise there was nothing to work out")
	var wait sync.WaitGroup
	for range 3 {
		for i, c := range checks {
			wait.Go(func() { assert.Equal(t, want[i], assertions.Judge(c, e)) })
		}
	}
	wait.Wait()
}
