package measure_test

import (
	"encoding/json"
	"math"
	"math/rand/v2"
	"os"
	"slices"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"hilrig/assertions/measure"
)

// NIST/SEMATECH e-Handbook 7.2.6.2 prints Y(0.90) = 95.1981 for these values;
// the rest of the table is computed. See testdata/README.md.
func TestQuantileAgainstNIST(t *testing.T) {
	raw, err := os.ReadFile("testdata/percentiles.json")
	require.NoError(t, err)
	var want struct {
		Data  []float64
		Table []struct {
			P    float64
			NIST float64 `json:"nist_R6"`
		}
	}
	require.NoError(t, json.Unmarshal(raw, &want))
	slices.Sort(want.Data)
	assert.InDelta(t, 95.1981, measure.Quantile(want.Data, 0.9), 5e-5)
	require.NotEmpty(t, want.Table)
	for _, row := range want.Table {
		assert.InDelta(t, row.NIST, measure.Quantile(want.Data, row.P), 1e-12, "p = %v", row.P)
	}
}

func TestQuantileOfLittle(t *testing.T) {
	assert.True(t, math.IsNaN(measure.Quantile(nil, 0.5)))
	assert.True(t, math.IsNaN(measure.Quantile([]float64{1}, math.NaN())))
	assert.Equal(t, 7.0, measure.Quantile([]float64{7}, 0.95))
	assert.Equal(t, 1.0, measure.Quantile([]float64{1, 2}, -3))
	assert.Equal(t, 2.0, measure.Quantile([]float64{1, 2}, 9))
}

// ranks returns 1 to n, so that an interval reads as ranks.
func ranks(n int) []float64 {
	x := make([]float64, n)
	for i := range x {
		x[i] = float64(i + 1)
	}
	return x
}

func TestQuantileIntervalRanks(t *testing.T) {
	inf := math.Inf(1)
	tests := []struct {
		name          string
		n             int
		p, confidence float64
		want          measure.Interval
	}{
		// The sign test's table for the median, from memory (W. J. Conover, Practical
		// Nonparametric Statistics): 10 values, second and ninth, 97.9 %.
		{"median of 10", 10, 0.5, 0.95, measure.Interval{2, 9}},
		{"median of 5 has no bounds", 5, 0.5, 0.95, measure.Interval{-inf, inf}},
		{"median of 6 has", 6, 0.5, 0.95, measure.Interval{1, 6}},
		// S. S. Wilks (1941): 59 values are the fewest whose largest bounds the 95 %
		// quantile with 95 % confidence on one side: 0.95^59 = 0.0485.
		{"59 values bound the 95 % quantile", 59, 0.95, 0.90, measure.Interval{53, 59}},
		{"58 do not", 58, 0.95, 0.90, measure.Interval{52, inf}},
		{"no values", 0, 0.5, 0.95, measure.Interval{-inf, inf}},
		{"no quantile", 10, 1, 0.95, measure.Interval{-inf, inf}},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			assert.Equal(t, tt.want, measure.QuantileInterval(ranks(tt.n), tt.p, tt.confidence))
		})
	}
}

// The interval holds the true quantile at least as often as it says, whatever
// the distribution: here one that is far from normal.
func TestQuantileIntervalCovers(t *testing.T) {
	runs := 2000
	if testing.Short() {
		runs = 600
	}
	random := rand.New(rand.NewPCG(7, 7))
	const p = 0.9
	truth := -math.Log(1 - p) // of the exponential distribution
	held := 0
	x := make([]float64, 120)
	for range runs {
		for i := range x {
			x[i] = random.ExpFloat64()
		}
		slices.Sort(x)
		if i := measure.QuantileInterval(x, p, measure.Confidence); i.Low <= truth && truth <= i.High {
			held++
		}
	}
	share := float64(held) / float64(runs)
	assert.GreaterOrEqual(t, share, measure.Confidence-0.015)
	assert.Less(t, share, 0.995, "not wider than it has to be")
}
