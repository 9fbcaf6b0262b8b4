package measure_test

import (
	"encoding/json"
	"math"
	"os"
	"slices"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"hilrig/assertions/measure"
)

// lines are the straight lines by the names of testdata/linearity_example.json.
var lines = map[string]func(x, y []float64) (measure.Straight, bool){
	"independent_minimax": measure.IndependentLine,
	"least_squares":       measure.LeastSquaresLine,
	"terminal_based":      measure.TerminalLine,
	"zero_based":          measure.ZeroBasedLine,
}

// A worked set of readings up and down (READ); its lines by a second implementation (CALC).
func TestLinesOfAWorkedSet(t *testing.T) {
	data, err := os.ReadFile("testdata/linearity_example.json")
	require.NoError(t, err)
	var set map[string]json.RawMessage
	require.NoError(t, json.Unmarshal(data, &set))
	var x, y []float64
	require.NoError(t, json.Unmarshal(set["x"], &x))
	require.NoError(t, json.Unmarshal(set["average"], &y))
	for name, of := range lines {
		var want struct {
			Slope, Intercept float64
			Largest          float64 `json:"max_abs_dev"`
		}
		require.NoError(t, json.Unmarshal(set[name], &want))
		require.NotZero(t, want.Largest)
		got, ok := of(x, y)
		require.True(t, ok, name)
		assert.InDelta(t, want.Slope, got.Slope, 1e-12, name)
		assert.InDelta(t, want.Intercept, got.Intercept, 1e-12, name)
		assert.InDelta(t, want.Largest, got.Largest, 1e-12, name)
		assert.InDelta(t, got.Largest, math.Abs(y[got.At]-got.Y(x[got.At])), 1e-15, name)
	}
}

// Certified values of the NIST Statistical Reference Dataset Norris; digits as printed there.
func TestLeastSquaresLineOfNorris(t *testing.T) {
	var x, y []float64
	for _, row := range table(t, "nist_norris.csv") {
		x, y = append(x, float(t, row["x"])), append(y, float(t, row["y"]))
	}
	s, ok := measure.LeastSquaresLine(x, y)
	require.True(t, ok)
	assert.InEpsilon(t, -0.262323073774029, s.Intercept, 1e-10)
	assert.InEpsilon(t, 1.00211681802045, s.Slope, 1e-13)
	for i := range x {
		assert.LessOrEqual(t, math.Abs(y[i]-s.Y(x[i])), s.Largest)
	}
}

// points draws a characteristic of up to 25 points; every fourth number is round, so that points
// stand on one line and deviations are equal.
func points(t *rapid.T) (x, y []float64) {
	n := rapid.IntRange(3, 25).Draw(t, "points")
	number := rapid.OneOf(rapid.Float64Range(-10, 10), rapid.Float64Range(-10, 10), rapid.Float64Range(-10, 10), rapid.Map(rapid.IntRange(-3, 3), func(i int) float64 { return float64(i) }))
	at := number.Draw(t, "first")
	for range n {
		x, y = append(x, at), append(y, number.Draw(t, "y"))
		at += rapid.OneOf(rapid.Just(1.0), rapid.Float64Range(1e-3, 3)).Draw(t, "apart")
	}
	return x, y
}

// leastOver returns the least value of a convex function over slopes, by ternary search.
func leastOver(of func(slope float64) float64) float64 {
	low, high := -3e4, 3e4
	for range 200 {
		a, b := low+(high-low)/3, high-(high-low)/3
		if of(a) < of(b) {
			high = b
		} else {
			low = a
		}
	}
	return of((low + high) / 2)
}

func TestMinimaxLinesAgainstASearchOverSlopes(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		x, y := points(t)
		independent, ok := measure.IndependentLine(x, y)
		require.True(t, ok)
		want := leastOver(func(slope float64) float64 {
			over := measure.RangeOf()
			for i := range x {
				over.Include(y[i] - slope*x[i])
			}
			return over.Width() / 2
		})
		require.InDelta(t, want, independent.Largest, 1e-9*(1+math.Abs(independent.Slope)))
		zero, ok := measure.ZeroBasedLine(x, y)
		require.True(t, ok)
		want = leastOver(func(slope float64) float64 {
			most := 0.0
			for i := range x {
				most = max(most, math.Abs(y[i]-y[0]-slope*(x[i]-x[0])))
			}
			return most
		})
		require.InDelta(t, want, zero.Largest, 1e-9*(1+math.Abs(zero.Slope)))
		require.InDelta(t, y[0], zero.Y(x[0]), 1e-9*(1+math.Abs(zero.Slope)))
	})
}

// The freer a line, the closer it comes.
func TestSensesOfLinearityKeepTheirOrder(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		x, y := points(t)
		of := map[string]float64{}
		for name, line := range lines {
			s, ok := line(x, y)
			require.True(t, ok)
			of[name] = s.Largest
		}
		near := 1e-9 * (1 + of["terminal_based"])
		require.LessOrEqual(t, of["independent_minimax"], of["zero_based"]+near)
		require.LessOrEqual(t, of["zero_based"], of["terminal_based"]+near)
		require.LessOrEqual(t, of["independent_minimax"], of["least_squares"]+near)
	})
}

// The interval of a largest deviation rests on this.
func TestLargestDeviationsAreSeminorms(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		x, y := points(t)
		other := make([]float64, len(y))
		sum := make([]float64, len(y))
		twice := make([]float64, len(y))
		for i := range y {
			other[i] = rapid.Float64Range(-10, 10).Draw(t, "other")
			sum[i], twice[i] = y[i]+other[i], -2*y[i]
		}
		for name, line := range lines {
			a, _ := line(x, y)
			b, _ := line(x, other)
			c, _ := line(x, sum)
			d, _ := line(x, twice)
			near := 1e-8 * (1 + a.Largest + b.Largest)
			require.LessOrEqual(t, c.Largest, a.Largest+b.Largest+near, name)
			require.InDelta(t, 2*a.Largest, d.Largest, near, name)
		}
	})
}

func TestLinesOfBadPoints(t *testing.T) {
	nan, inf := math.NaN(), math.Inf(1)
	for name, line := range lines {
		for _, p := range [][2][]float64{
			{nil, nil}, {{1}, {1}}, {{1, 2, 3}, {1, 2}}, {{1, 1, 1}, {1, 2, 3}}, {{1, 2, nan}, {1, 2, 3}}, {{1, 2, 3}, {1, nan, 3}}, {{1, 2, 3}, {1, inf, 3}},
		} {
			_, ok := line(p[0], p[1])
			assert.False(t, ok, "%s of %v", name, p)
		}
	}
	_, ok := measure.IndependentLine([]float64{2, 1, 3}, []float64{1, 2, 3})
	assert.False(t, ok, "x has to ascend")
}

func TestIsotonic(t *testing.T) {
	// R. E. Barlow and others, Statistical Inference under Order Restrictions: the rule, by hand (CALC).
	assert.Equal(t, []float64{1, 2.5, 2.5, 4}, measure.Isotonic([]float64{1, 3, 2, 4}, nil))
	assert.Equal(t, []float64{2, 2, 2}, measure.Isotonic([]float64{3, 2, 1}, nil))
	assert.Equal(t, []float64{1.5, 1.5}, measure.Isotonic([]float64{3, 1}, []float64{1, 3}))
	assert.Empty(t, measure.Isotonic(nil, nil))
}

// The regression is the closest vector that does not fall: no other such vector is closer, and it has
// the same mean.
func TestIsotonicIsTheClosest(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		_, y := points(t)
		got := measure.Isotonic(y, nil)
		require.True(t, slices.IsSorted(got))
		distance := func(z []float64) (sum float64) {
			for i := range y {
				sum += (y[i] - z[i]) * (y[i] - z[i])
			}
			return sum
		}
		other := slices.Clone(got)
		for i := range other {
			other[i] += rapid.Float64Range(-0.1, 0.1).Draw(t, "moved")
		}
		slices.Sort(other)
		require.LessOrEqual(t, distance(got), distance(other)+1e-9)
		require.InDelta(t, measure.Describe(y).Mean, measure.Describe(got).Mean, 1e-9)
	})
}
