package measure_test

import (
	"encoding/json"
	"fmt"
	"math"
	"math/rand/v2"
	"os"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"hilrig/assertions/measure"
)

// Table G.2 of JCGM 100:2008, column 95.45 %, two decimals as printed; from memory.
func TestCoverageAgainstTheGUM(t *testing.T) {
	for degrees, want := range map[float64]float64{
		1: 13.97, 2: 4.53, 3: 3.31, 4: 2.87, 5: 2.65, 6: 2.52, 7: 2.43, 8: 2.37, 9: 2.32, 10: 2.28,
		15: 2.18, 20: 2.13, 30: 2.09, 40: 2.06, 50: 2.05, 100: 2.025,
	} {
		assert.InDelta(t, want, measure.CoverageFactor(degrees), 0.0051, "%v degrees of freedom", degrees)
	}
	assert.Equal(t, 2.0, measure.CoverageFactor(math.Inf(1)))
	assert.InDelta(t, 2, measure.CoverageFactor(4999), 1e-3, "no jump where Student's t is left")
	assert.Equal(t, measure.CoverageFactor(1), measure.CoverageFactor(0.2))
	assert.True(t, math.IsNaN(measure.CoverageFactor(math.NaN())))
}

func TestTypeB(t *testing.T) {
	// A chemists' guide to uncertainty, E.1: 7 to 10, printed as 0.87.
	assert.InDelta(t, 0.87, measure.Rectangular(1.5), 0.005)
	// JCGM 100:2008, F.2.2.1, from memory: the factor.
	assert.InDelta(t, 0.29, measure.Resolution(1), 0.002, "F.2.2.1 prints 0.29")
}

// A budget computed for this project, testdata/gum_example.json: v = pi D N/(ppr T).
func TestCombineAgainstABudget(t *testing.T) {
	data, err := os.ReadFile("testdata/gum_example.json")
	require.NoError(t, err)
	var want struct {
		V   float64
		UC  float64 `json:"u_c"`
		UK2 float64 `json:"U_k2"`
	}
	require.NoError(t, json.Unmarshal(data, &want))
	const d, n, ppr, span = 0.108, 4096, 1024, 0.5
	v := math.Pi * d * n / (ppr * span)
	e := measure.Combine(v,
		measure.Term{Of: measure.Estimate{Value: d, Systematic: measure.Rectangular(0.0005)}, Slope: v / d},
		measure.Term{Of: measure.Estimate{Value: n, Systematic: 1 / math.Sqrt(6)}, Slope: v / n}, // triangular, ±1
		measure.Term{Of: measure.Estimate{Value: span, Systematic: measure.Rectangular(25e-6)}, Slope: -v / span})
	assert.InEpsilon(t, want.V, e.Value, 1e-14)
	assert.InEpsilon(t, want.UC, e.Standard(), 1e-12)
	assert.InEpsilon(t, want.UK2, e.Expanded(), 1e-12)
}

// JCGM 100:2008, H.1.6 (end gauge), from memory: components of 25, 9.7, 2.9 and
// 16.6 nm with 18, 25.6, 50 and 2 degrees of freedom give u_c = 32 nm with 16.7
// effective ones.
func TestDegreesOfFreedomByWelchAndSatterthwaite(t *testing.T) {
	random := func(u, degrees float64) measure.Term {
		return measure.Term{Of: measure.Estimate{Statistical: u, DegreesOfFreedom: degrees}, Slope: 1}
	}
	e := measure.Combine(0, random(25, 18), random(9.7, 25.6), random(2.9, 50), random(16.6, 2))
	assert.InDelta(t, 32, e.Standard(), 0.5)
	assert.InDelta(t, 16.7, e.DegreesOfFreedom, 0.1)
}

// The package's own rule, on a published series that hangs together (NIST
// Michelso, r = 0.535).
func TestMeanOfCountsTheEffectiveNumber(t *testing.T) {
	x := column(t, "testdata/nist_michelso.csv")
	e := measure.MeanOf(x, 0)
	const n, s = 100, 0.0790105478190518
	r := 0.535199668621283
	r += (1+4*r)/n + r*math.Sqrt((1-r*r)/n)
	ratio := measure.Describe(x).Lag2/r + 1/(r*math.Sqrt(n)) // CALC, by the package's own sum
	effective := n * (1 - r) / (1 + r)
	if ratio < r {
		effective = n / (1 + 2*r/(1-ratio))
	}
	assert.InEpsilon(t, s/math.Sqrt(effective), e.Statistical, 1e-12)
	assert.InEpsilon(t, n*(1-r*r)/(1+r*r)-1, e.DegreesOfFreedom, 1e-12)
}

// A random part with 3 degrees of freedom beside a known one of the same size:
// by G.4 of JCGM 100:2008, 3 * 2^2 = 12 effective ones.
func TestSystematicUncertaintyRaisesDegreesOfFreedom(t *testing.T) {
	e := measure.Estimate{Statistical: 1, Systematic: 1, DegreesOfFreedom: 3}
	assert.InDelta(t, measure.CoverageFactor(12)*math.Sqrt2, e.Expanded(), 1e-9)
}

func TestZeroSpreadKeepsItsUncertainty(t *testing.T) {
	e := measure.MeanOf([]float64{0.4, 0.4, 0.4, 0.4}, measure.RootSumSquare(measure.Resolution(0.001), measure.Rectangular(0.002)))
	assert.Zero(t, e.Statistical)
	assert.InDelta(t, math.Sqrt(0.001*0.001/12+0.002*0.002/3), e.Standard(), 1e-15)
	assert.InDelta(t, 2*e.Standard(), e.Expanded(), 1e-15, "known uncertainty is expanded by 2")
	assert.True(t, math.IsInf(measure.MeanOf([]float64{1}, 0).Expanded(), 1), "one value shows no spread")
}

// Few samples of normal values: the interval is Student's, whose coverage is
// exact; the correction for autocorrelation widens it a little. Where values
// truly hang together, the estimated coefficient leaves it up to 3 % short.
func TestIntervalCoversTheMean(t *testing.T) {
	runs := 4000
	if testing.Short() {
		runs = 1500
	}
	tests := []struct {
		n           int
		r           float64 // true lag-1 coefficient
		least, most float64 // share of intervals that hold the mean
		systematic  float64
	}{
		{3, 0, 0.94, 1, 0},
		{5, 0, 0.94, 1, 0},
		{10, 0, 0.94, 0.99, 0},
		{80, 0, 0.94, 0.98, 0},
		{40, 0.5, 0.91, 0.98, 0},
		{80, 0.8, 0.91, 0.98, 0},
		{160, 0.9, 0.91, 0.98, 0},
		{30, 0, 0.97, 1, 0.2}, // a systematic uncertainty that is not in the data widens it
	}
	for _, tt := range tests {
		t.Run(fmt.Sprintf("n=%d r=%g", tt.n, tt.r), func(t *testing.T) {
			random := rand.New(rand.NewPCG(1, uint64(tt.n)))
			held := 0
			x := make([]float64, tt.n)
			for range runs {
				v := random.NormFloat64()
				for i := range x {
					x[i] = 3 + v
					v = tt.r*v + math.Sqrt(1-tt.r*tt.r)*random.NormFloat64()
				}
				if i := measure.MeanOf(x, tt.systematic).Interval(); i.Low <= 3 && 3 <= i.High {
					held++
				}
			}
			share := float64(held) / float64(runs)
			t.Logf("%.4f of the intervals hold the mean", share)
			assert.GreaterOrEqual(t, share, tt.least)
			assert.LessOrEqual(t, share, tt.most)
		})
	}
}

func TestCombineProperties(t *testing.T) {
	estimate := rapid.Custom(func(t *rapid.T) measure.Estimate {
		return measure.Estimate{
			Value:            rapid.Float64Range(-1, 1).Draw(t, "value"),
			Statistical:      rapid.Float64Range(0, 1).Draw(t, "random"),
			Systematic:       rapid.Float64Range(0, 1).Draw(t, "fixed"),
			DegreesOfFreedom: rapid.Float64Range(1, 200).Draw(t, "degrees of freedom"),
		}
	})
	rapid.Check(t, func(t *rapid.T) {
		a, b := estimate.Draw(t, "a"), estimate.Draw(t, "b")
		d, m := measure.Difference(a, b), measure.Difference(b, a)
		assert.Equal(t, d.Value, -m.Value)
		assert.InDelta(t, d.Expanded(), m.Expanded(), 1e-12)
		assert.GreaterOrEqual(t, d.Standard()+1e-12, max(a.Standard(), b.Standard()))
		assert.LessOrEqual(t, d.Standard(), a.Standard()+b.Standard()+1e-12)
		if d.Statistical > 1e-60 {
			assert.GreaterOrEqual(t, d.DegreesOfFreedom, min(a.DegreesOfFreedom, b.DegreesOfFreedom)-1e-9)
			assert.LessOrEqual(t, d.DegreesOfFreedom, a.DegreesOfFreedom+b.DegreesOfFreedom+1e-9)
		}
		assert.GreaterOrEqual(t, d.Expanded(), 2*d.Standard()-1e-4*d.Standard())
	})
}
