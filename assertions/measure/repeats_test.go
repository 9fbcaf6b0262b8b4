package measure_test

import (
	"math"
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/assert"

	"hilrig/assertions/measure"
)

func TestMeanOfPlays(t *testing.T) {
	e := measure.MeanOfRepeats([]float64{4}, 0.5)
	assert.Equal(t, measure.Estimate{Value: 4, Systematic: 0.5}, e)
	e = measure.MeanOfRepeats([]float64{1, 2, 3, 4, 5}, 0)
	assert.InDelta(t, 3, e.Value, 1e-12)
	assert.InDelta(t, math.Sqrt(2.5/5), e.Statistical, 1e-12)
	assert.Equal(t, 4.0, e.DegreesOfFreedom)
	assert.InDelta(t, e.Statistical, measure.MeanOfRepeats([]float64{5, 3, 1, 2, 4}, 0).Statistical, 1e-12, "order means nothing")
	// Student's t for four degrees of freedom at 95.45 %: 2.87, JCGM 100, table G.2.
	assert.InDelta(t, 2.87, e.Expanded()/e.Statistical, 0.005)
}

func TestGain(t *testing.T) {
	assert.True(t, math.IsNaN(measure.Improvement(nil, nil).Value))
	assert.True(t, math.IsNaN(measure.Improvement([]float64{1}, []float64{0}).Value))
	assert.Equal(t, measure.Estimate{Value: 0.75}, measure.Improvement([]float64{1}, []float64{4}))
	// Where each with is the same part of its without, there is no uncertainty, however far the pairs spread.
	e := measure.Improvement([]float64{1, 2, 3}, []float64{2, 4, 6})
	assert.InDelta(t, 0.5, e.Value, 1e-12)
	assert.InDelta(t, 0, e.Statistical, 1e-12)
}

func TestGainHoldsTheTruth(t *testing.T) {
	random := rand.New(rand.NewPCG(3, 4))
	const sets, n = 4000, 5
	held := 0
	for range sets {
		with, without := make([]float64, n), make([]float64, n)
		for i := range with {
			common := 10 + random.NormFloat64()
			without[i] = common + 0.2*random.NormFloat64()
			with[i] = 0.9*common + 0.2*random.NormFloat64()
		}
		if i := measure.Improvement(with, without).Interval(); i.Low <= 0.1 && 0.1 <= i.High {
			held++
		}
	}
	assert.InDelta(t, measure.Confidence, float64(held)/sets, 0.012)
}
