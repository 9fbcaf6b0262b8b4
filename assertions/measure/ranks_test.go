package measure_test

import (
	"math"
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/assert"
	"pgregory.net/rapid"

	"hilrig/assertions/measure"
)

func TestRanks(t *testing.T) {
	tests := []struct {
		name, source string
		a, b         []float64
		want         measure.Ranks
		larger       float64
		within       float64
	}{
		{
			name: "permeability of a membrane at term and at 12 to 26 weeks", source: "Hollander and Wolfe, Nonparametric Statistical Methods (1973), p. 69, as the example of wilcox.test in R has it: W = 35, exact p 0.1272 one-sided; MEM",
			a: []float64{1.15, 0.88, 0.90, 0.74, 1.21}, b: []float64{0.80, 0.83, 1.89, 1.04, 1.45, 1.38, 1.91, 1.64, 0.73, 1.46},
			want: measure.Ranks{U: 35, Expected: 25, Variance: 5.0 * 10 * 16 / 12}, larger: 0.1272, within: 0.005, // the normal approximation, of samples so small
		},
		{
			name: "ties", source: "CALC: midranks 1, 2.5, 4.5 and 2.5, 4.5, 6 by hand; variance by the formula of Lehmann 1.4",
			a: []float64{1, 2, 3}, b: []float64{2, 3, 4},
			want: measure.Ranks{U: 7, Expected: 4.5, Variance: 9.0 / 12 * (7 - 12.0/30)}, larger: 0.1842, within: 0.0005,
		},
		{
			name: "all the same", source: "nothing can be told",
			a: []float64{5, 5, 5}, b: []float64{5, 5},
			want: measure.Ranks{U: 3, Expected: 3, Variance: 0}, larger: 0.5, within: 1e-12,
		},
		{name: "nothing", source: "nothing can be told", larger: 0.5, within: 1e-12},
	}
	for _, test := range tests {
		t.Run(test.name, func(t *testing.T) {
			got := measure.RanksOf(test.a, test.b)
			assert.InDelta(t, test.want.U, got.U, 1e-12, test.source)
			assert.InDelta(t, test.want.Expected, got.Expected, 1e-12, test.source)
			assert.InDelta(t, test.want.Variance, got.Variance, 1e-9, test.source)
			assert.InDelta(t, test.larger, got.Larger(), test.within, test.source)
		})
	}
}

// The two samples change places, and neither a larger unit nor another zero changes anything.
func TestRanksAreSymmetric(t *testing.T) {
	values := rapid.SliceOfN(rapid.Map(rapid.IntRange(0, 20), func(i int) float64 { return float64(i) }), 1, 30)
	rapid.Check(t, func(t *rapid.T) {
		a, b := values.Draw(t, "a"), values.Draw(t, "b")
		there, back := measure.RanksOf(a, b), measure.RanksOf(b, a)
		assert.InDelta(t, float64(len(a)*len(b)), there.U+back.U, 1e-9)
		assert.InDelta(t, there.Deviations(), -back.Deviations(), 1e-9)
		scaled := make([]float64, len(b))
		for i, x := range b {
			scaled[i] = 3*x + 7
		}
		own := make([]float64, len(a))
		for i, x := range a {
			own[i] = 3*x + 7
		}
		assert.Equal(t, there, measure.RanksOf(own, scaled))
	})
}

// Samples of one distribution are told apart as often as the level says, and shifted ones nearly always.
func TestRanksKeepTheirLevel(t *testing.T) {
	random := rand.New(rand.NewPCG(1, 2))
	draw := func(by float64) []float64 {
		x := make([]float64, 100)
		for i := range x {
			x[i] = math.Round(10*(random.Float64()+by)) / 10 // with ties
		}
		return x
	}
	const trials = 2000
	told, found := 0, 0
	for range trials {
		if math.Abs(measure.RanksOf(draw(0), draw(0)).Deviations()) > measure.Deviate(0.05) {
			told++
		}
		if measure.Together(measure.RanksOf(draw(0), draw(0.2)), measure.RanksOf(draw(5), draw(5.2))).Deviations() > measure.Deviate(0.001) {
			found++
		}
	}
	assert.InDelta(t, 0.05, float64(told)/trials, 0.015)
	assert.Greater(t, float64(found)/trials, 0.99)
}

func TestShiftBetween(t *testing.T) {
	assert.Equal(t, 2.0, measure.ShiftBetween([]float64{1, 2, 3}, []float64{3, 4, 5}))
	assert.True(t, math.IsNaN(measure.ShiftBetween(nil, []float64{1})))
}

// Student's t and the normal distribution, two-sided.
func TestDeviates(t *testing.T) {
	tests := []struct {
		p, degrees, want float64
		source           string
	}{
		{0.05, 0, 1.960, "NIST/SEMATECH e-Handbook 1.3.6.7.1; MEM"},
		{0.01, 0, 2.576, "the same; MEM"},
		{0.05, 2, 4.303, "NIST/SEMATECH e-Handbook 1.3.6.7.2; MEM"},
		{0.01, 10, 3.169, "the same; MEM"},
	}
	for _, test := range tests {
		assert.InDelta(t, test.want, measure.DeviateOf(test.p, test.degrees), 0.0006, test.source)
	}
}

func TestDegreesByIsTheInverseOfTheCoverageFactor(t *testing.T) {
	for _, degrees := range []float64{1, 2, 5, 30, 200} {
		assert.InEpsilon(t, degrees, measure.DegreesBy(measure.CoverageFactor(degrees)), 0.01)
	}
	assert.Zero(t, measure.DegreesBy(2))
	assert.Zero(t, measure.DegreesBy(math.NaN()))
	assert.Equal(t, 1.0, math.Round(measure.DegreesBy(1000)))
}
