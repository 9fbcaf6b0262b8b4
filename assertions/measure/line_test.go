package measure_test

import (
	"cmp"
	"encoding/csv"
	"math"
	"math/rand/v2"
	"os"
	"path/filepath"
	"slices"
	"strconv"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"hilrig/assertions/measure"
)

// table reads a CSV file of testdata by the names of its columns.
func table(t *testing.T, name string) []map[string]string {
	t.Helper()
	file, err := os.Open(filepath.Join("testdata", name))
	require.NoError(t, err)
	defer file.Close()
	rows, err := csv.NewReader(file).ReadAll()
	require.NoError(t, err)
	var out []map[string]string
	for _, row := range rows[1:] {
		m := map[string]string{}
		for i, cell := range row {
			m[rows[0][i]] = cell
		}
		out = append(out, m)
	}
	return out
}

func float(t *testing.T, s string) float64 {
	t.Helper()
	x, err := strconv.ParseFloat(s, 64)
	require.NoError(t, err)
	return x
}

// Certified values of the NIST Statistical Reference Datasets, Norris (linear
// regression, lower level of difficulty); digits as printed there.
func TestLineOfNorris(t *testing.T) {
	var x, y []float64
	for _, row := range table(t, "nist_norris.csv") {
		x, y = append(x, float(t, row["x"])), append(y, float(t, row["y"]))
	}
	l, ok := measure.LineOf(x, y)
	require.True(t, ok)
	assert.Equal(t, 36, l.N)
	assert.InEpsilon(t, -0.262323073774029, l.Intercept, 1e-10)
	assert.InEpsilon(t, 1.00211681802045, l.Slope, 1e-13)
	assert.InEpsilon(t, 0.884796396144373, l.Residual, 1e-11)
	assert.InDelta(t, l.Intercept+500*l.Slope, l.At(500), 1e-9)
	// The certified uncertainty of the intercept is that of y at 0, and near there that of the zero, times the slope.
	// Points in an order in which their residuals do not hang together.
	order := make([]int, len(x))
	for i := range order {
		order[i] = i
	}
	slices.SortFunc(order, func(a, b int) int { return cmp.Compare(y[a]-l.At(x[a]), y[b]-l.At(x[b])) })
	var mixedX, mixedY []float64
	for i, k := range order {
		if i%2 == 1 {
			k = order[len(order)-i]
		}
		mixedX, mixedY = append(mixedX, x[k]), append(mixedY, y[k])
	}
	l, ok = measure.LineOf(mixedX, mixedY)
	require.True(t, ok)
	zero := l.Zero(0)
	assert.InDelta(t, 0.262323073774029/1.00211681802045, zero.Value, 1e-10)
	assert.InEpsilon(t, 0.232818234301152, zero.Statistical*l.Slope, 1e-3, "at 0.26 instead of 0")
}

func TestLineOfTooLittle(t *testing.T) {
	for name, points := range map[string][2][]float64{
		"none": {}, "two": {{1, 2}, {1, 2}}, "one place": {{1, 1, 1}, {1, 2, 3}}, "uneven": {{1, 2, 3}, {1, 2}},
	} {
		_, ok := measure.LineOf(points[0], points[1])
		assert.False(t, ok, name)
	}
}

// The interval holds the true zero about as often as it says, for independent
// errors and for errors that hang together.
func TestZeroHoldsTheTruth(t *testing.T) {
	for _, r := range []float64{0, 0.8} {
		random := rand.New(rand.NewPCG(1, 2))
		const plays, n = 2000, 200
		held := 0
		for range plays {
			x, y := make([]float64, n), make([]float64, n)
			noise := 0.0
			for i := range x {
				noise = r*noise + math.Sqrt(1-r*r)*random.NormFloat64()
				x[i] = float64(i)
				y[i] = 0.02*(x[i]-250) + 0.3*noise
			}
			l, _ := measure.LineOf(x, y)
			if i := l.Zero(0).Interval(); i.Low <= 250 && 250 <= i.High {
				held++
			}
		}
		share := float64(held) / plays
		assert.Greater(t, share, 0.90, "autocorrelation %v", r)
		assert.Less(t, share, 0.98, "autocorrelation %v", r)
	}
}

// A drift that the line follows adds no uncertainty to the mean.
func TestMiddle(t *testing.T) {
	x, y := make([]float64, 100), make([]float64, 100)
	for i := range x {
		x[i] = float64(i)
		y[i] = 3*float64(i) + 0.1*float64(1-2*(i%2))
	}
	l, ok := measure.LineOf(x, y)
	require.True(t, ok)
	m := l.Middle(0.02)
	assert.InDelta(t, 148.5, m.Value, 1e-9)
	assert.InDelta(t, 0.01, m.Statistical, 2e-4, "0.1 over the root of 100")
	assert.Equal(t, 0.02, m.Systematic)
}

func TestZeroTakesASystematicUncertainty(t *testing.T) {
	l, ok := measure.LineOf([]float64{0, 1, 2, 3}, []float64{-1, 1, 3, 5})
	require.True(t, ok)
	zero := l.Zero(0.1)
	assert.InDelta(t, 0.5, zero.Value, 1e-12)
	assert.InDelta(t, 0.05, zero.Standard(), 1e-12, "in y 0.1, with a slope of 2")
}
