package realtime

import (
	"math"
	"slices"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"hilrig/rig/signal"
)

// Every span lies in its class, and the classes follow each other without a gap, each
// at most a quarter wider than its floor.
func TestClassesHoldTheirSpans(t *testing.T) {
	for c := 1; c < classes; c++ {
		require.Equal(t, c, classOf(floorOf(c)))
		require.Equal(t, c-1, classOf(floorOf(c)-1))
		if c > 4 {
			require.LessOrEqual(t, float64(floorOf(c)-floorOf(c-1)), 0.25*float64(floorOf(c-1)))
		}
	}
	assert.Equal(t, classes-1, classOf(math.MaxInt64))
}

// A histogram against the spans themselves, in order.
func TestHistogramAgreesWithTheSpans(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		spans := rapid.SliceOfN(rapid.Custom(func(t *rapid.T) signal.Time {
			return signal.Time(1) << rapid.IntRange(0, 39).Draw(t, "octave") * signal.Time(rapid.IntRange(0, 100).Draw(t, "part")) / 100
		}), 1, 200).Draw(t, "spans")
		var h Histogram
		for _, s := range spans {
			h.Add(s)
		}
		slices.Sort(spans)
		limit := spans[rapid.IntRange(0, len(spans)-1).Draw(t, "limit")]
		above, long := uint64(0), signal.Time(0)
		for _, s := range spans {
			if classOf(s) > classOf(limit) {
				above++
				long += s
			}
		}
		assert.Equal(t, above, h.Above(limit))
		assert.InEpsilon(t, 1+float64(long), 1+float64(h.TimeAbove(limit)), 0.126)
		assert.Equal(t, spans[len(spans)-1], h.Most)
		q := rapid.Float64Range(0, 1).Draw(t, "q")
		exact := spans[max(0, int(math.Ceil(q*float64(len(spans))))-1)]
		assert.GreaterOrEqual(t, h.Quantile(q), exact)
		assert.LessOrEqual(t, float64(h.Quantile(q)), 1.25*float64(exact))
		for _, classes := range [][]Class{h.Octaves(), h.Classes()} {
			sum := uint64(0)
			for i, c := range classes {
				sum += c.Count
				assert.Less(t, c.Least, c.Below)
				if i > 0 {
					assert.Equal(t, classes[i-1].Below, c.Least)
				}
			}
			assert.Equal(t, h.Count, sum)
			assert.NotZero(t, classes[0].Count)
			assert.NotZero(t, classes[len(classes)-1].Count)
		}
	})
}

func TestEmptyHistogramHasNoClasses(t *testing.T) {
	var h Histogram
	assert.Empty(t, h.Octaves())
	assert.Zero(t, h.Quantile(0.5))
	assert.Zero(t, h.TimeAbove(0))
}
