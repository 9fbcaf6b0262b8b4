package measure_test

import (
	"math"
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/assert"
	"pgregory.net/rapid"

	"hilrig/assertions/measure"
)

// Percentage points of V (sqrt(n) + 0.155 + 0.24/sqrt(n)): M. A. Stephens, J. R.
// Stat. Soc. B 32 (1970), table 1; from memory.
func TestKuiperAgainstThePercentagePoints(t *testing.T) {
	for _, tt := range []struct{ point, p float64 }{{1.620, 0.10}, {1.747, 0.05}, {1.862, 0.025}, {2.001, 0.01}} {
		for _, n := range []int{50, 1000} {
			root := math.Sqrt(float64(n))
			v := tt.point / (root + 0.155 + 0.24/root)
			// Phases spread evenly over all but a gap of about v.
			phases := make([]float64, n)
			for i := range phases {
				phases[i] = (1 - v) * (float64(i) + 0.5) / float64(n-1)
			}
			got, p := measure.Kuiper(phases)
			assert.InDelta(t, v, got, 1e-12)
			assert.InEpsilon(t, tt.p, p, 0.02, "the points have four digits; point %v, n %d", tt.point, n)
		}
	}
}

// Phases that are drawn evenly have probabilities that are spread evenly.
func TestKuiperOfEvenPhases(t *testing.T) {
	random := rand.New(rand.NewPCG(1, 2))
	const runs = 2000
	below := map[float64]int{}
	phases := make([]float64, 200)
	for range runs {
		for i := range phases {
			phases[i] = random.Float64()
		}
		_, p := measure.Kuiper(phases)
		for _, level := range []float64{0.01, 0.1, 0.5} {
			if p < level {
				below[level]++
			}
		}
	}
	for level, n := range below {
		assert.InDelta(t, level, float64(n)/runs, 4*math.Sqrt(level*(1-level)/runs), "level %v", level)
	}
}

func TestKuiperFindsWhatIsUneven(t *testing.T) {
	random := rand.New(rand.NewPCG(1, 3))
	tests := []struct {
		name string
		draw func() float64
	}{
		{"one phase", func() float64 { return 0.3 }},
		{"two phases", func() float64 { return 0.25 + 0.5*float64(random.IntN(2)) }},
		{"half the circle", func() float64 { return random.Float64() / 2 }},
		{"round the cut", func() float64 { return math.Mod(0.8+0.4*random.Float64(), 1) }},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			phases := make([]float64, 200)
			for i := range phases {
				phases[i] = tt.draw()
			}
			_, p := measure.Kuiper(phases)
			assert.Less(t, p, 1e-6)
		})
	}
	_, p := measure.Kuiper(nil)
	assert.Equal(t, 1.0, p)
}

func TestKuiperDoesNotDependOnTheCut(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		phases := rapid.SliceOfN(rapid.Float64Range(0, 0.999), 1, 60).Draw(t, "phases")
		by := rapid.Float64Range(0, 1).Draw(t, "by")
		turned := make([]float64, len(phases))
		for i, x := range phases {
			turned[i] = math.Mod(x+by, 1)
		}
		v, p := measure.Kuiper(phases)
		w, q := measure.Kuiper(turned)
		assert.InDelta(t, v, w, 1e-9)
		assert.InDelta(t, p, q, 1e-6)
	})
}

func TestResponseQuantile(t *testing.T) {
	inf := math.Inf(1)
	times := make([]float64, 200)
	for i := range times {
		times[i] = float64(i + 1)
	}
	r := measure.ResponseQuantile(times, 0.95)
	assert.InDelta(t, 190.95, r.Quantile, 1e-12, "rank 0.95 (200 + 1)")
	assert.Equal(t, 200, r.Trials)
	assert.Less(t, r.Within.Low, r.Quantile)
	assert.Greater(t, r.Within.High, r.Quantile)
	assert.Equal(t, 200.0, times[199], "what was passed is left alone")

	for i := range 20 {
		times[i*7] = inf
	}
	r = measure.ResponseQuantile(times, 0.95)
	assert.Equal(t, 20, r.Unanswered)
	assert.Equal(t, inf, r.Quantile, "one in ten brought no answer")
	assert.False(t, math.IsNaN(measure.ResponseQuantile([]float64{inf, inf}, 0.5).Quantile))
	assert.True(t, math.IsNaN(measure.ResponseQuantile(nil, 0.5).Quantile))
}

// Boards whose loop and delay are known, seen through output frames of 3 ms.
func TestSeparateResponse(t *testing.T) {
	random := rand.New(rand.NewPCG(1, 4))
	delayHeld, loopHeld := 0, 0
	const runs = 60
	for range runs {
		delay, loop := 0.004*random.Float64(), 0.002+0.008*random.Float64()
		const output = 0.003
		var before, after []float64
		for range 200 {
			ready := delay + loop*random.Float64()
			frame := output * random.Float64() // the first that began after the change
			for frame < ready {
				frame += output
			}
			before, after = append(before, frame-output), append(after, frame)
		}
		p, ok := measure.SeparateResponse(before, after)
		assert.True(t, ok)
		assert.InDelta(t, delay, p.Delay, 0.1*loop+0.05*output)
		assert.InDelta(t, loop, p.Loop, 0.1*loop+0.1*output)
		if holds(p.DelayWithin, delay) {
			delayHeld++
		}
		if holds(p.LoopWithin, loop) {
			loopHeld++
		}
	}
	t.Logf("%d and %d of %d intervals hold delay and loop", delayHeld, loopHeld, runs)
	assert.GreaterOrEqual(t, delayHeld, runs*85/100)
	assert.GreaterOrEqual(t, loopHeld, runs*85/100)

	_, ok := measure.SeparateResponse(make([]float64, 9), make([]float64, 9))
	assert.False(t, ok, "too few")
	_, ok = measure.SeparateResponse(make([]float64, 20), make([]float64, 20))
	assert.False(t, ok, "no time between")
}

// No part of a response is a time below zero, however the trials fall: of a board that
// answers at once the frames alone may suggest that it answered before the change.
func TestSeparateResponseHasNoNegativeTimes(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		n := rapid.IntRange(10, 60).Draw(t, "trials")
		before, after := make([]float64, n), make([]float64, n)
		for i := range before {
			after[i] = rapid.Float64Range(0, 0.01).Draw(t, "after")
			before[i] = after[i] - rapid.Float64Range(0.0001, 0.005).Draw(t, "apart")
		}
		p, ok := measure.SeparateResponse(before, after)
		assert.True(t, ok)
		assert.GreaterOrEqual(t, p.Delay, 0.0)
		assert.GreaterOrEqual(t, p.DelayWithin.Low, 0.0)
		assert.GreaterOrEqual(t, p.Loop, 0.0)
	})
}
