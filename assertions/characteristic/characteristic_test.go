package characteristic_test

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"

	"hilrig/assertions"
	"hilrig/assertions/characteristic"
	"hilrig/assertions/measure"
)

func TestWords(t *testing.T) {
	assert.Equal(t, "up", characteristic.Up.String())
	assert.Equal(t, "down", characteristic.Down.String())
	assert.Equal(t, "not reached", characteristic.NotReached.String())
	var words []string
	for _, s := range characteristic.Senses() {
		words = append(words, s.String())
	}
	assert.Equal(t, []string{"independent", "least_squares", "terminal_based", "zero_based"}, words)
}

// What was not asked for stands neither for nor against a controller.
func TestWorstOfFiguresCountsWhatWasAsked(t *testing.T) {
	limit := &measure.Interval{Low: 0, High: 0.1}
	undecided := characteristic.Figure{Estimate: math.NaN(), Verdict: assertions.Undecided}
	pass := characteristic.Figure{Limit: limit, Verdict: assertions.Pass}
	fail := characteristic.Figure{Limit: limit, Verdict: assertions.Fail}
	assert.False(t, undecided.Measured())
	assert.Equal(t, assertions.MeasuredOnly, characteristic.Worst([]characteristic.Figure{undecided}))
	assert.Equal(t, assertions.Pass, characteristic.Worst([]characteristic.Figure{undecided, pass}))
	undecided.Limit = limit
	assert.Equal(t, assertions.Undecided, characteristic.Worst([]characteristic.Figure{undecided, pass}))
	assert.Equal(t, assertions.Fail, characteristic.Worst([]characteristic.Figure{undecided, fail, pass}))
}
