package measure_test

import (
	"math"
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/assert"
	"pgregory.net/rapid"

	"hilrig/assertions/measure"
)

// The definition of the interval: at each end the share that was seen is two
// standard deviations of the binomial distribution of that end away.
func TestWilsonSolvesItsEquation(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		n := rapid.Float64Range(2, 1e5).Draw(t, "n")
		p := rapid.Float64Range(0, 1).Draw(t, "share")
		i := measure.Wilson(p, n)
		assert.LessOrEqual(t, i.Low, p+1e-12)
		assert.GreaterOrEqual(t, i.High, p-1e-12)
		for _, end := range []float64{i.Low, i.High} {
			if end > 0 && end < 1 {
				assert.InDelta(t, 4*end*(1-end)/n, (end-p)*(end-p), 1e-12)
			}
		}
	})
}

func TestShareOf(t *testing.T) {
	p, i := measure.ShareOf(nil)
	assert.True(t, math.IsNaN(p))
	assert.Equal(t, measure.Interval{Low: 0, High: 1}, i)
	all := make([]bool, 100)
	for k := range all {
		all[k] = true
	}
	p, i = measure.ShareOf(all)
	assert.Equal(t, 1.0, p)
	assert.InDelta(t, 1-4.0/104, i.Low, 1e-12, "z2/(n + z2) below")
	assert.Equal(t, 1.0, i.High)
}

// A share of runs is known less well than one of single trials.
func TestShareOfRunsIsWider(t *testing.T) {
	single, runs := make([]bool, 1000), make([]bool, 1000)
	random := rand.New(rand.NewPCG(1, 1))
	for k := range single {
		single[k] = random.Float64() < 0.5
		runs[k] = k/50%2 == 0
	}
	_, one := measure.ShareOf(single)
	p, many := measure.ShareOf(runs)
	assert.Equal(t, 0.5, p)
	assert.Greater(t, many.High-many.Low, 3*(one.High-one.Low))
}
