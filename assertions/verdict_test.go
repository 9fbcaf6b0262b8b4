package assertions_test

import (
	"testing"

	"github.com/stretchr/testify/assert"

	"hilrig/assertions"
	"hilrig/assertions/law"
)

func TestWorst(t *testing.T) {
	of := func(v ...assertions.Verdict) []assertions.Result {
		var r []assertions.Result
		for _, v := range v {
			r = append(r, assertions.Result{Verdict: v})
		}
		return r
	}
	assert.Equal(t, assertions.NotAsked, assertions.Worst(nil))
	assert.Equal(t, pass, assertions.Worst(of(assertions.NotAsked, pass)))
	assert.Equal(t, undecided, assertions.Worst(of(undecided, pass, assertions.NotAsked)))
	assert.Equal(t, fail, assertions.Worst(of(pass, fail, undecided)))
	assert.Equal(t, assertions.MeasuredOnly, assertions.Worst(of(assertions.NotAsked, assertions.MeasuredOnly)))
	assert.Equal(t, pass, assertions.Worst(of(assertions.MeasuredOnly, pass)))
}

func TestDeadShiftFor(t *testing.T) {
	p := &law.Policy{}
	assert.Equal(t, 0.01, p.DeadShiftFor(0.001))
	assert.InDelta(t, 0.03, p.DeadShiftFor(0.01), 1e-15, "a coarse line raises it")
	p.DeadShift = 0.002
	assert.Equal(t, 0.002, p.DeadShiftFor(0.01), "the owner's word stands")
	assert.Equal(t, 0.01, (*law.Policy)(nil).DeadShiftFor(0))
}
