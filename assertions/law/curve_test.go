package law_test

import (
	"testing"

	"github.com/stretchr/testify/assert"

	"hilrig/assertions/law"
	"hilrig/assertions/measure"
)

// A level at which the motors stood at their floor says that they are meant to stand there or below, one at their cap that there or
// beyond: the curve is drawn to what was seen. Between 0 at idle and 4 % at a throttle of 5 % a command of 1 % is that of 1.25 %;
// between 80 % and a cap of 88 % at 90 %, one of 86 % is that of 87.5 %.
func TestTheThrottleForACommandGoesByWhatWasSeenOfALevel(t *testing.T) {
	all := func(low, high float64) (m [4]measure.Interval) {
		for i := range m {
			m[i] = measure.Interval{Low: low, High: high}
		}
		return m
	}
	c := law.Curve{
		Throttle: []float64{0, 0.05, 0.8, 0.9, 1},
		Motors:   [][4]measure.Interval{all(-1, 0), all(0, 0.041), all(0.8, 0.8), all(0.88, 1), all(0.88, 1)},
		Stood:    [][4]float64{{}, {0.04, 0.04, 0.04, 0.04}, {0.8, 0.8, 0.8, 0.8}, {0.88, 0.88, 0.88, 0.88}, {0.88, 0.88, 0.88, 0.88}},
	}
	for _, row := range []struct{ command, throttle float64 }{{0, 0}, {0.01, 0.0125}, {0.04, 0.05}, {0.42, 0.425}, {0.86, 0.875}} {
		at, ok := c.ThrottleFor(row.command)
		assert.True(t, ok)
		assert.InDelta(t, row.throttle, at, 0.0011, "for %g", row.command)
	}
	_, ok := c.ThrottleFor(0.9)
	assert.False(t, ok, "beyond the cap")
}
