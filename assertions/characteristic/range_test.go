package characteristic_test

import (
	"testing"

	"github.com/stretchr/testify/assert"

	"hilrig/assertions/characteristic"
)

// The readings are those of a published worked example of hysteresis (READ, notes on metrology
// of alexlib), the averages CALC.
func TestRangeOfAWorkedExample(t *testing.T) {
	s := &characteristic.Set{Levels: []float64{0, 0.2, 0.4, 0.6, 0.8, 1}}
	for i, up := range []float64{0.1, 1.1, 2.1, 3.0, 4.1, 5.0} {
		s.Readings = append(s.Readings, characteristic.Reading{Level: i, Output: up})
	}
	for i, down := range []float64{0.2, 1.2, 2.2, 3.2, 4.2, 5.0} {
		s.Readings = append(s.Readings, characteristic.Reading{Level: i, Direction: characteristic.Down, Output: down})
	}
	r := characteristic.RangeOf(s)
	assert.Equal(t, s.Levels, r.Commands)
	assert.InDeltaSlice(t, []float64{0.15, 1.15, 2.15, 3.1, 4.15, 5}, r.Averages, 1e-12)
	assert.InDelta(t, 4.9, r.Span, 1e-12, "of all means, not of the averages")

	s.Readings = s.Readings[1:11] // the ends are read one way alone
	assert.InDeltaSlice(t, []float64{0.2, 1.15, 2.15, 3.1, 4.15, 5}, characteristic.RangeOf(s).Averages, 1e-12)
	assert.Equal(t, characteristic.Range{}, characteristic.RangeOf(&characteristic.Set{Levels: s.Levels}))
}
