package report

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
)

func TestStrip(t *testing.T) {
	none := math.NaN()
	for _, c := range []struct {
		values    []float64
		low, high float64
		width     int
		want      string
	}{
		{[]float64{0, 1, 2, 3, 4, 5, 6, 7}, 0, 7, 20, "▁▂▃▄▅▆▇█"},
		{[]float64{0, 1, 2, 3, 4, 5, 6, 7}, 0, 8, 4, "▁▃▅▇"},
		{[]float64{0, none, 7}, 0, 7, 3, "▁ █"},
		{[]float64{none, none}, 0, 7, 2, ""},
		{[]float64{3, 3}, 3, 3, 2, "▅▅"},
		{[]float64{-5, 50}, 0, 7, 2, "▁█"},
		{nil, 0, 7, 2, ""},
	} {
		assert.Equal(t, c.want, Strip(c.values, c.low, c.high, c.width), "%v", c)
	}
	low, high, ok := Span(none, 2, -1)
	assert.Equal(t, []any{-1.0, 2.0, true}, []any{low, high, ok})
	_, _, ok = Span(none)
	assert.False(t, ok)
}
