package measure_test

import (
	"math"
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/assert"
	"pgregory.net/rapid"

	"hilrig/assertions/measure"
)

// What is left is known by the conditions of Kuhn and Tucker: it stands at a right angle to the nearest sum, which is the point less what
// is left, and no vector of the cone makes an acute angle with it.
func TestWhatIsLeftOfAPointIsTurnedAwayFromTheCone(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		random := rand.New(rand.NewPCG(rapid.Uint64().Draw(t, "seed"), 1))
		size, many := 1+random.IntN(8), 1+random.IntN(60)
		vector := func() (v []float64) {
			for range size {
				v = append(v, random.NormFloat64())
			}
			return v
		}
		var vectors [][]float64
		for range many {
			vectors = append(vectors, vector())
		}
		point := vector()
		left := measure.NearestInCone(vectors, point)
		off := 0.0
		for i := range left {
			off += left[i] * (point[i] - left[i])
		}
		assert.InDelta(t, 0, off, 1e-6, "a right angle to the nearest sum")
		for _, v := range vectors {
			along, long := 0.0, 0.0
			for i := range v {
				along += v[i] * left[i]
				long += v[i] * v[i]
			}
			assert.LessOrEqual(t, along/math.Sqrt(long), 1e-6)
		}
	})
}

// CALC by hand: in the plane, the cone between the two axes.
func TestNearestInAQuarterPlane(t *testing.T) {
	axes := [][]float64{{2, 0}, {0, 5}}
	for _, row := range []struct{ point, left []float64 }{
		{[]float64{1, 3}, []float64{0, 0}},
		{[]float64{-1, 3}, []float64{-1, 0}},
		{[]float64{1, -3}, []float64{0, -3}},
		{[]float64{-1, -3}, []float64{-1, -3}},
	} {
		assert.InDeltaSlice(t, row.left, measure.NearestInCone(axes, row.point), 1e-9)
	}
}
