package measure

import (
	"math"
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// Loops that stand nearly still against the frames, so that the ages spread over less than a period, or less of it
// is seen than there is: what is told of one that is not resolved is true all the same, for it turns at least
// as often as the frames bring a new value. A loop that is slower than the frames brings fewer.
func TestABoundIsWhatNewValuesProve(t *testing.T) {
	for _, tt := range []struct {
		name          string
		period, frame float64 // s
		dither        float64 // steps by which the output goes to and fro by itself
		most          float64 // frames; the bound is not longer
	}{
		{"two turns a frame", 1.93e-3, 3.88e-3, 0, 1.3},
		{"one turn a frame", 3.88e-3, 3.89e-3, 0, 1.3},
		{"twenty turns a frame", 0.19e-3, 3.88e-3, 0, 1.3},
		{"two frames a turn", 7.76e-3, 3.88e-3, 0, 2.6},
		{"two frames a turn, dithered", 7.76e-3, 3.88e-3, 1, 3.5},
		{"frames that bring less than a step", 2e-3, 0.25e-3, 0, 16},
	} {
		t.Run(tt.name, func(t *testing.T) {
			random := rand.New(rand.NewPCG(16, 1))
			in := Excitation{Step: 1e-3}
			speed := func(t float64) float64 { return 3 + 2*math.Sin(2*math.Pi*4.77*t) }
			for i := range 1300 {
				in.Values = append(in.Values, speed(float64(i)*1e-3))
			}
			const step = 1.0 / 1000
			var frames []Answer
			value, next, by := 0.0, 0.05, tt.dither
			for at := 0.1; at < 1.25; at += tt.frame {
				for next <= at {
					v := speed(next-0.3e-3) * (1 + 0.05*random.NormFloat64())
					value = 0.45 + 0.05*v
					next += tt.period
				}
				frames = append(frames, Answer{At: at, Value: (math.Round(value/step) + by) * step})
				by = tt.dither - by
			}
			m, err := newMapping(&in, frames)
			require.NoError(t, err)
			s := newSearch(m, frames, step)
			u := Updates{}
			// What the ages seem to spread over, noise hiding the rest.
			s.markUnresolved(&u, spreadOut{period: 0.2e-3, within: Interval{0.1e-3, 0.3e-3}})
			assert.True(t, u.Unresolved)
			assert.GreaterOrEqual(t, u.Within.High, tt.period)
			assert.LessOrEqual(t, u.Within.High, tt.most*tt.frame)
			assert.Equal(t, u.Within.High, u.Period, "what is told is the bound")
			s.markUnresolved(&u, spreadOut{period: 80e-3, within: Interval{60e-3, 90e-3}})
			assert.InDelta(t, 117e-3, u.Within.High, 1e-9, "nor is it below what the ages spread over")
		})
	}
}
