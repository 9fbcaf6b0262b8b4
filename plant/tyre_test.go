package plant

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"pgregory.net/rapid"
)

// TestMagicFormulaTable holds the curve to testdata/tyre.csv; the sources of the
// sets are named in testdata/README.md. Values have 9 digits, as have the derived
// factors B and D, so a set with a B of 9 digits is held to 1e-8.
func TestMagicFormulaTable(t *testing.T) {
	for _, r := range readTable(t, "tyre.csv", 273) {
		got := r.number(t, "D") * MagicFormula(r.number(t, "slip"), r.number(t, "B"), r.number(t, "C"), r.number(t, "E"))
		want := r.number(t, "value")
		assert.InDelta(t, want, got, 1e-8*math.Abs(want)+1e-8*math.Abs(r.number(t, "D")), "%s %s N, slip %s", r["set"], r["Fz_N"], r["slip"])
	}
}

// TestMagicFormulaIdentities holds peak, slope, limit and symmetry to what follows
// from the formula.
func TestMagicFormulaIdentities(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		b := rapid.Float64Range(2, 30).Draw(t, "b")
		c := rapid.Float64Range(1.05, 1.99).Draw(t, "c")
		e := rapid.Float64Range(-10, 0.9).Draw(t, "e")
		peak := PeakSlip(b, c, e)
		assert.InDelta(t, 1, MagicFormula(peak, b, c, e), 1e-14, "at the peak")
		assert.Less(t, MagicFormula(peak*1.1, b, c, e), 1.0)
		assert.Less(t, MagicFormula(peak*0.9, b, c, e), 1.0)
		assert.InEpsilon(t, b*c, MagicFormula(1e-9, b, c, e)/1e-9, 1e-9, "slope")
		assert.InDelta(t, math.Sin(c*math.Pi/2), MagicFormula(1e9, b, c, e), 1e-6, "limit")
		x := rapid.Float64Range(0, 5).Draw(t, "x")
		assert.Equal(t, MagicFormula(x, b, c, e), -MagicFormula(-x, b, c, e))
	})
}

func TestPeakSlip(t *testing.T) {
	tests := []struct {
		name    string
		b, c, e float64
		want    float64
	}{
		// E = 0: the peak is at tan(pi/(2C))/B.
		{"no curvature", 10, 1.5, 0, math.Tan(math.Pi/3) / 10},
		{"C 2, no curvature", 4, 2, 0, 1.0 / 4},
		// E = 1: atan(Bx) = tan(pi/(2C)).
		{"full curvature", 5, 2, 1, math.Tan(1) / 5},
		{"full curvature, no peak", 5, 1.5, 1, math.NaN()},
		{"C 1", 10, 1, 0, math.NaN()},
		{"no stiffness", 0, 1.5, 0, math.NaN()},
		{"E above 1", 10, 1.5, 1.1, math.NaN()},
		{"not a number", 10, math.NaN(), 0, math.NaN()},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			near(t, tt.want, PeakSlip(tt.b, tt.c, tt.e), 1e-14)
		})
	}
}

func TestFriction(t *testing.T) {
	tyre := Tyre{Load: 10, LoadSensitivity: 0.1}
	assert.Equal(t, 1.0, tyre.friction(10))
	assert.InDelta(t, 0.9, tyre.friction(20), 1e-15)
	assert.InDelta(t, 1.1, tyre.friction(0), 1e-15)
	assert.Zero(t, tyre.friction(1000))
	assert.Equal(t, 1.0, Tyre{}.friction(5))
}
