package measure

import (
	"math"

	"gonum.org/v1/gonum/stat/distuv"
)

// Confidence is the confidence of every interval of this package: that of two
// standard deviations of the normal distribution.
const Confidence = 0.954499736103642

// manyDegrees is where the factor has come within 0.03 % of 2.
const manyDegrees = 5000

// CoverageFactor returns the factor k by which a standard uncertainty with that many
// degrees of freedom is expanded to 95.45 % confidence: Student's t, and 2 where
// there are many. Fewer than one degrees of freedom count as one. It is
// rounded to six digits, so that no verdict hangs on the last bits of a
// special function.
func CoverageFactor(degrees float64) float64 {
	if degrees > manyDegrees {
		return 2
	}
	if math.IsNaN(degrees) {
		return math.NaN()
	}
	t := distuv.StudentsT{Mu: 0, Sigma: 1, Nu: max(degrees, 1)}
	return math.Round(t.Quantile((1+Confidence)/2)*1e5) / 1e5
}
