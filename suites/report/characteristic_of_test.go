package report

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"hilrig/assertions/characteristic"
)

// readings returns one cycle over levels, up and down.
func readings(up, down []float64) (all []characteristic.Reading) {
	for i, y := range up {
		all = append(all, characteristic.Reading{Level: i, Output: y})
	}
	for i := len(down) - 1; i >= 0; i-- {
		all = append(all, characteristic.Reading{Level: i, Direction: characteristic.Down, Output: down[i]})
	}
	return all
}

// The readings are a published worked example of hysteresis (READ, notes on metrology of
// alexlib: x 0 to 5, up 0.1 1.1 2.1 3.0 4.1 5.0, down 0.2 1.2 2.2 3.2 4.2 5.0), the lines CALC on
// the averages: independent 0.97 x + 0.21, least squares 0.977142857 x + 0.173809524,
// terminal-based 0.97 x + 0.15, zero-based 0.983333333 x + 0.15.
func TestCharacteristicOfAWorkedExample(t *testing.T) {
	s := &characteristic.Set{
		Held: "locked", Unit: "N m", Levels: []float64{0, 0.2, 0.4, 0.6, 0.8, 1},
		Readings: readings([]float64{0.1, 1.1, 2.1, 3.0, 4.1, 5.0}, []float64{0.2, 1.2, 2.2, 3.2, 4.2, 5.0}),
	}
	want := map[string][2]float64{
		"independent": {0.21, 0.97}, "least squares": {0.173809524, 0.977142857},
		"terminal-based": {0.15, 0.97}, "zero-based": {0.15, 0.983333333},
	}
	c := CharacteristicOf(s, characteristic.Limits{Linearity: &characteristic.LinearityLimit{Sense: characteristic.TerminalBased, AtMost: 0.03}})
	assert.Equal(t, "torque over throttle", c.Title)
	assert.Equal(t, "terminal-based", c.Lines[0].Name, "the sense that is asked comes first")
	assert.InDelta(t, 0.03, c.Band, 1e-12)
	assert.InDelta(t, 4.9, c.Span, 1e-12)
	require.Len(t, c.Lines, 4)
	for _, l := range c.Lines {
		assert.InDelta(t, want[l.Name][0], l.Intercept, 1e-8, l.Name)
		assert.InDelta(t, 5*want[l.Name][1], l.Slope, 1e-8, l.Name)
	}

	c = CharacteristicOf(s, characteristic.Limits{})
	assert.Equal(t, "independent", c.Lines[0].Name)
	largest := 0.0
	for _, p := range c.residuals(c.means(false)) {
		largest = max(largest, -p.Output)
	}
	assert.InDelta(t, 100*(0.21+4.85*0.6-3.0)/4.9, largest, 1e-9, "the residual of up at 60 %, where it is the largest")
}

// What was not read at a level is no point.
func TestCharacteristicOfReadingsWithHoles(t *testing.T) {
	s := &characteristic.Set{
		Held: "speed 120 rad/s", Unit: "rad/s2", Levels: []float64{0, 0.5, 1},
		Readings: readings([]float64{0, 10, 20}, []float64{0, 11, 20}),
	}
	s.Readings[0].Status, s.Readings[5].Status = characteristic.NotReached, characteristic.NotReached
	s.Readings[1].Status = characteristic.Dropped
	c := CharacteristicOf(s, characteristic.Limits{})
	assert.Equal(t, "angular acceleration over throttle", c.Title)
	assert.Equal(t, []float64{0}, c.Unread)
	assert.Equal(t, []Point{{1, 20, false}, {1, 20, true}, {0.5, 11, true}}, c.Points)
	require.NotEmpty(t, c.Lines)
	assert.Equal(t, StraightLine{"independent", 2, 18, 0.5, 1}, c.Lines[0], "two levels were read on the way down")

	s.Readings = s.Readings[:3]
	c = CharacteristicOf(s, characteristic.Limits{})
	assert.Empty(t, c.Lines)
	assert.Equal(t, []float64{0, 0.5}, c.Unread)
	assert.NotEmpty(t, c.Text())
}
