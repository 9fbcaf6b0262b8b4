package measure_test

import (
	"fmt"
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"hilrig/assertions/measure"
	"hilrig/plant/portable"
)

func uniform(n int, value float64) []float64 {
	v := make([]float64, n)
	for i := range v {
		v[i] = value
	}
	return v
}

var largest = measure.Relative{Seminorm: func(y []float64) float64 {
	most := 0.0
	for _, v := range y {
		most = max(most, math.Abs(v))
	}
	return most
}}

// Of one number, the noise's quantile is Student's factor of the package times the standard
// uncertainty (a table of Student's t for 95.45 %: GUM table G.2, from memory).
func TestNoiseOfOneNumberIsStudents(t *testing.T) {
	for _, row := range []struct {
		degrees int
		factor  float64
	}{{0, 2}, {3, 3.31}, {10, 2.28}, {50, 2.05}} {
		errors := measure.Draws{Seed: 1, Name: "one", N: 100000}.Errors(measure.Noise{Standard: []float64{0.1}, DegreesOfFreedom: row.degrees})
		b := largest.Bound([]float64{5}, errors)
		assert.InEpsilon(t, row.factor, b.Noise/0.1, 0.015, "%d degrees of freedom", row.degrees)
		assert.InDelta(t, 5, b.Estimate, 0.01)
	}
}

// The largest of 20 normal numbers, either way, stays below z in erf(z/√2)^20 of all cases. Each
// side of the interval leaves half of what the confidence leaves.
func TestNoiseOfALargestValue(t *testing.T) {
	errors := measure.Draws{Seed: 2, Name: "largest", N: 40000}.Errors(measure.Noise{Standard: uniform(20, 1)})
	b := largest.Bound(uniform(20, 0), errors)
	want := math.Sqrt2 * math.Erfinv(math.Pow((1+measure.Confidence)/2, 1.0/20))
	assert.InDelta(t, want, b.Noise, 0.04)
	assert.Zero(t, b.Estimate)
	assert.Zero(t, b.Low)
}

func TestRectangularErrorsStayWithinTheirHalfWidth(t *testing.T) {
	errors := measure.Draws{Seed: 3, Name: "half", N: 20000}.Errors(measure.Noise{Standard: []float64{0}, Half: []float64{0.5}})
	b := largest.Bound([]float64{0}, errors)
	assert.InDelta(t, 0.5*(1+measure.Confidence)/2, b.Noise, 0.005)
}

func TestDrawsRepeatToTheBit(t *testing.T) {
	n := measure.Noise{Standard: uniform(5, 0.2), DegreesOfFreedom: 7}
	d := measure.Draws{Seed: 9, Name: "again", N: 10}
	assert.Equal(t, d.Errors(n), d.Errors(n))
	assert.NotEqual(t, d.Errors(n), measure.Draws{Seed: 10, Name: "again", N: 10}.Errors(n))
	assert.Len(t, measure.Draws{}.Errors(n), 2000)
}

// A ratio of two readings of known noise, by the law of propagation: u(a/b) = |a/b| sqrt((u/a)^2 + (u/b)^2)
// (JCGM 100, 5.1.6).
func TestQuantilesOfARatio(t *testing.T) {
	errors := measure.Draws{Seed: 4, Name: "ratio", N: 50000}.Errors(measure.Noise{Standard: []float64{0.01, 0.02}})
	i := measure.Quantiles(func(y []float64) float64 { return y[0] / y[1] }, []float64{1, 2}, errors)
	assert.InEpsilon(t, 4*0.5*math.Sqrt(1e-4+1e-4), i.Width(), 0.02)
	assert.InDelta(t, 0.5, (i.Low+i.High)/2, 1e-3)
	i = measure.Quantiles(func(y []float64) float64 { return math.NaN() }, []float64{1, 2}, errors)
	assert.Equal(t, measure.Across, i.Against(measure.Interval{Low: -9, High: 9}))
}

// The true figure lies in its interval in 95 of 100 cases, whether nothing stands out, one value does,
// or all are alike.
func TestBoundHoldsTheTrueFigure(t *testing.T) {
	const runs, n, sigma = 300, 20, 0.01
	for name, truth := range map[string][]float64{"nothing": uniform(n, 0), "one": append(uniform(n-1, 0), 0.2), "all": uniform(n, 0.05)} {
		held, off := 0, 0.0
		for run := range runs {
			stream := portable.NewNoise(uint64(run), "readings")
			y := make([]float64, n)
			for i := range y {
				y[i] = truth[i] + sigma*stream.Norm()
			}
			b := largest.Bound(y, measure.Draws{Seed: uint64(run), Name: "draws", N: 400}.Errors(measure.Noise{Standard: uniform(n, sigma)}))
			require.True(t, b.Low <= b.Estimate && b.Estimate <= b.High)
			off += (b.Estimate - largest.Of(truth)) / runs
			if want := largest.Of(truth); b.Low <= want && want <= b.High {
				held++
			}
		}
		assert.GreaterOrEqual(t, held, runs*92/100, fmt.Sprintf("%s: %d of %d", name, held, runs))
		assert.Less(t, math.Abs(off), 1.5*sigma, name)
	}
}

// A figure that is its own size is 1 whatever the noise, and its interval is not turned round.
func TestBoundOfAFigureThatIsItsOwnSize(t *testing.T) {
	whole := measure.Relative{Seminorm: largest.Seminorm, Size: largest.Seminorm}
	for seed := range uint64(20) {
		errors := measure.Draws{Seed: seed, Name: "whole", N: 50}.Errors(measure.Noise{Standard: uniform(4, 0.3), DegreesOfFreedom: 3})
		b := whole.Bound([]float64{3, -2, 1, 0}, errors)
		assert.True(t, b.Noise >= 0 && b.Low <= b.Estimate && b.Estimate <= b.High, "%+v", b)
		assert.InDelta(t, 1, b.Estimate, 0.3)
	}
	b := whole.Bound([]float64{0, 0}, [][]float64{{1, 1}, {1, -1}})
	assert.True(t, math.IsNaN(b.Estimate) && math.IsNaN(b.High), "no size")
}
