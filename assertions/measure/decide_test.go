package measure_test

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"pgregory.net/rapid"

	"hilrig/assertions/measure"
)

func TestAgainst(t *testing.T) {
	inf, nan := math.Inf(1), math.NaN()
	tests := []struct {
		name  string
		i     measure.Interval
		limit measure.Interval
		want  measure.Decision
	}{
		{"wholly inside", measure.Interval{1, 2}, measure.Interval{0, 3}, measure.Inside},
		{"touching the ends", measure.Interval{0, 3}, measure.Interval{0, 3}, measure.Inside},
		{"across the upper end", measure.Interval{2, 4}, measure.Interval{0, 3}, measure.Across},
		{"across both ends", measure.Interval{-1, 4}, measure.Interval{0, 3}, measure.Across},
		{"above", measure.Interval{3.1, 4}, measure.Interval{0, 3}, measure.Outside},
		{"below", measure.Interval{-2, -0.1}, measure.Interval{0, 3}, measure.Outside},
		{"one side open", measure.Interval{1, 1e300}, measure.Interval{0, inf}, measure.Inside},
		{"end not a number", measure.Interval{nan, 1}, measure.Interval{0, 3}, measure.Across},
		{"only the far end a number", measure.Interval{nan, -5}, measure.Interval{0, 3}, measure.Across},
		{"both not numbers", measure.Interval{nan, nan}, measure.Interval{-inf, inf}, measure.Across},
		{"limit not a number", measure.Interval{1, 2}, measure.Interval{0, nan}, measure.Across},
		{"knows nothing", measure.Interval{-inf, inf}, measure.Interval{-inf, inf}, measure.Across},
		{"at infinity", measure.Interval{inf, inf}, measure.Interval{0, inf}, measure.Across},
		{"ends swapped", measure.Interval{2, 1}, measure.Interval{0, 3}, measure.Across},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			assert.Equal(t, tt.want, tt.i.Against(tt.limit), "%v", tt.i.Against(tt.limit))
		})
	}
}

func TestAgainstProperties(t *testing.T) {
	number := rapid.Float64Range(-10, 10)
	rapid.Check(t, func(t *rapid.T) {
		centre, half := number.Draw(t, "centre"), rapid.Float64Range(0, 5).Draw(t, "half")
		a, b := number.Draw(t, "a"), number.Draw(t, "b")
		limit := measure.Interval{min(a, b), max(a, b)}
		at := func(half float64) measure.Interval { return measure.Interval{centre - half, centre + half} }
		d := at(half).Against(limit)

		mirrored := measure.Interval{-at(half).High, -at(half).Low}.Against(measure.Interval{-limit.High, -limit.Low})
		assert.Equal(t, d, mirrored, "mirrored input, same decision")

		// Less uncertainty about the same value never undoes a decision.
		if less := at(half * rapid.Float64Range(0, 1).Draw(t, "less")).Against(limit); d != measure.Across {
			assert.Equal(t, d, less)
		}
		// A wider limit never makes a kept one broken.
		wider := measure.Interval{limit.Low - 1, limit.High + 1}
		if d == measure.Inside {
			assert.Equal(t, measure.Inside, at(half).Against(wider))
		}
		if at(half).Against(wider) == measure.Outside {
			assert.Equal(t, measure.Outside, d)
		}
		// Moving up against a lower bound goes from outside over across to inside.
		bound := measure.Interval{limit.Low, math.Inf(1)}
		order := map[measure.Decision]int{measure.Outside: 0, measure.Across: 1, measure.Inside: 2}
		up := measure.Interval{centre - half + 0.5, centre + half + 0.5}
		assert.LessOrEqual(t, order[at(half).Against(bound)], order[up.Against(bound)])
	})
}
