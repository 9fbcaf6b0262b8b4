//go:build full

package suites

import (
	"slices"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"hilrig/plant"
	"hilrig/suites/file"
)

// The oracle says of a board of each class what ten times as many trials of that very board
// come to.
func TestOracleAgainstLongRuns(t *testing.T) {
	for _, c := range coverageClasses {
		t.Run(c.name, func(t *testing.T) {
			s, truth := c.drawn(t, 7)
			s.wiring.Tick = rateTick
			ses, err := s.open(t.Context(), &file.Suite{Name: rateName}, s.board, nil)
			require.NoError(t, err)
			defer ses.close()
			p := &rateRun{session: ses, draw: s.noise(rateName, "", "long", 0)}
			all := map[plant.Wheel][]float64{}
			for range 10 {
				got, err := p.trials(t.Context(), 400*ms, 50*ms)
				require.NoError(t, err)
				for i := range got.found.Motors {
					m := &got.found.Motors[i]
					all[m.Motor] = append(all[m.Motor], m.Times...)
				}
			}
			for _, w := range []plant.Wheel{plant.FrontLeft, plant.RearRight} {
				slices.Sort(all[w])
				long, median := all[w][len(all[w])/2], truth.median(w)
				t.Logf("%v: %d trials %.3f ms, oracle %.3f ms", w, len(all[w]), 1e3*long, 1e3*median)
				assert.InDelta(t, median, long, 0.00045)
			}
		})
	}
}
