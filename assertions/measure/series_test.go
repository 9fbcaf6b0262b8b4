package measure_test

import (
	"encoding/json"
	"os"
	"strconv"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"hilrig/assertions/measure"
)

// column reads a file of one number a line under a heading.
func column(t *testing.T, path string) []float64 {
	t.Helper()
	data, err := os.ReadFile(path)
	require.NoError(t, err)
	var x []float64
	for _, word := range strings.Fields(string(data))[1:] {
		v, err := strconv.ParseFloat(word, 64)
		require.NoError(t, err)
		x = append(x, v)
	}
	return x
}

// NIST Statistical Reference Datasets, univariate; see testdata/README.md.
func TestDescribeAgainstNIST(t *testing.T) {
	data, err := os.ReadFile("testdata/nist_univariate_certified.json")
	require.NoError(t, err)
	var certified map[string]json.RawMessage
	require.NoError(t, json.Unmarshal(data, &certified))
	for _, name := range []string{"michelso", "lew", "lottery", "mavro"} {
		t.Run(name, func(t *testing.T) {
			var want struct {
				N         int
				Certified struct{ Mean, SD, Lag1 float64 }
			}
			require.NoError(t, json.Unmarshal(certified[name], &want))
			s := measure.Describe(column(t, "testdata/nist_"+name+".csv"))
			assert.Equal(t, want.N, s.N)
			// 15 digits are certified; 13 are asked, for the data are rounded to binary.
			assert.InEpsilon(t, want.Certified.Mean, s.Mean, 1e-14, "mean")
			assert.InEpsilon(t, want.Certified.SD, s.Deviation, 1e-12, "deviation")
			assert.InEpsilon(t, want.Certified.Lag1, s.Lag1, 1e-12, "lag 1")
		})
	}
}

// NumAcc4 of the same collection: a spread of 0.1 on an offset of 1e7. The
// naive sum of squares keeps no digit of it. The data themselves are rounded to
// 2e-9, which leaves eight digits of the deviation.
func TestDescribeKeepsItsDigitsOnALargeOffset(t *testing.T) {
	x := []float64{10000000.2}
	for range 500 {
		x = append(x, 10000000.1, 10000000.3)
	}
	s := measure.Describe(x)
	assert.InEpsilon(t, 10000000.2, s.Mean, 1e-15)
	assert.InEpsilon(t, 0.1, s.Deviation, 2e-8)
	assert.InEpsilon(t, -0.999, s.Lag1, 1e-8)
}

func TestDescribeOfLittle(t *testing.T) {
	assert.Equal(t, measure.Series{}, measure.Describe(nil))
	assert.Equal(t, measure.Series{N: 1, Mean: 5}, measure.Describe([]float64{5}))
	assert.Equal(t, measure.Series{N: 3, Mean: 0.3}, measure.Describe([]float64{0.3, 0.3, 0.3}))
}

func TestDescribeProperties(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		x := rapid.SliceOfN(rapid.Float64Range(-2, 2), 2, 50).Draw(t, "x")
		s := measure.Describe(x)
		assert.LessOrEqual(t, s.Lag1, 1.0)
		assert.GreaterOrEqual(t, s.Lag1, -1.0)

		back := make([]float64, len(x)) // mirrored, backwards: only the mean's sign may change
		for i, v := range x {
			back[len(x)-1-i] = -v
		}
		m := measure.Describe(back)
		assert.InDelta(t, -s.Mean, m.Mean, 1e-14)
		assert.InDelta(t, s.Deviation, m.Deviation, 1e-14)
		if s.Deviation > 1e-6 {
			assert.InDelta(t, s.Lag1, m.Lag1, 1e-6)
		}
	})
}

func TestEffective(t *testing.T) {
	tests := []struct {
		name string
		n    int
		r    float64
		want float64
	}{
		{"independent", 100, 0, 100},
		{"half", 100, 0.5, 100 * 0.5 / 1.5},
		{"strong", 100, 0.9, 100 * 0.1 / 1.9},
		{"never below one", 10, 0.99, 1},
		{"never negative", 10, 1.5, 1},
		{"alternating is not trusted", 100, -0.5, 100},
		{"nor past what can be", 100, -1.5, 100},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			assert.InDelta(t, tt.want, measure.Effective(tt.n, tt.r), 1e-12)
		})
	}
}
