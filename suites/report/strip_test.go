package report

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"

	"hilrig/suites/record"
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

func TestStripsOfACase(t *testing.T) {
	none := math.NaN()
	a := &record.Along{Played: map[string][]float64{"yaw_rate": {0.5, 0.5, 1, 1}}}
	for i := range a.Motors {
		a.Motors[i].Mean = []float64{0.4, 0.4, 0.4, 0.4}
	}
	a.Motors[0].Mean = []float64{0.4, 0.4, 0.3, 0.3}
	a.Motors[3].Mean = []float64{none, none, none, none}
	assert.Equal(t, []StripOf{
		{"yaw rate", "28.65 deg/s", "57.3 deg/s", "▁▁██"},
		{"front_left", "30 %", "40 %", "██▁▁"},
		{"front_right", "40 %", "40 %", "████"},
		{"rear_left", "40 %", "40 %", "████"},
		{"rear_right", "", "", NotMeasured},
	}, Strips(a, 40))
	assert.Empty(t, Strips(nil, 40))
	assert.Empty(t, Strips(&record.Along{}, 40))
}
