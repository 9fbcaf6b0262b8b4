package assertions_test

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"pgregory.net/rapid"

	"hilrig/assertions"
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
}

func TestRound(t *testing.T) {
	assert.Equal(t, 1.23456789, assertions.Round(1.234567891, 9))
	assert.Equal(t, -0.00123, assertions.Round(-0.001234, 3))
	assert.Equal(t, 1000.0, assertions.Round(999.9999999999, 9))
	assert.False(t, math.Signbit(assertions.Round(math.Copysign(0, -1), 9)))
	assert.True(t, math.IsNaN(assertions.Round(math.NaN(), 9)))
	assert.True(t, math.IsInf(assertions.Round(math.Inf(-1), 9), -1))
	assert.Equal(t, math.MaxFloat64, assertions.Round(math.MaxFloat64, 2), "rounding up would overflow")
	rapid.Check(t, func(t *rapid.T) {
		x, digits := rapid.Float64().Draw(t, "x"), rapid.IntRange(1, 17).Draw(t, "digits")
		r := assertions.Round(x, digits)
		assert.Equal(t, r, assertions.Round(r, digits), "rounding again changes nothing")
		assert.Equal(t, -r, assertions.Round(-x, digits))
		if x != 0 && math.Abs(x) > 1e-300 {
			assert.LessOrEqual(t, math.Abs(r/x-1), 5.1*math.Pow(10, -float64(digits)))
		}
	})
}

func TestDeadShiftFor(t *testing.T) {
	p := &assertions.Policy{}
	assert.Equal(t, 0.01, p.DeadShiftFor(0.001))
	assert.InDelta(t, 0.03, p.DeadShiftFor(0.01), 1e-15, "a coarse line raises it")
	p.DeadShift = 0.002
	assert.Equal(t, 0.002, p.DeadShiftFor(0.01), "the owner's word stands")
	assert.Equal(t, 0.01, (*assertions.Policy)(nil).DeadShiftFor(0))
}
