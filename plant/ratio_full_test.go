//go:build full

package plant

import (
	"slices"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
)

// TestStepAgainstTwin holds a step in Go to at most 1.5 times the C twin's time,
// the median of five pairs taken one after the other.
func TestStepAgainstTwin(t *testing.T) {
	const steps = 200_000
	w := compileTwin(t)
	m, s := cornering(t)
	start := m.State()
	in := s.input()
	var ratios []float64
	for range 5 {
		m.Reset(start)
		c := w.nsPerStep(t, m, s)
		began := time.Now()
		for n := range steps {
			if n%1000 == 0 {
				m.Reset(start)
			}
			m.Step(in, s.dt)
		}
		ratios = append(ratios, float64(time.Since(began).Nanoseconds())/steps/c)
	}
	slices.Sort(ratios)
	t.Logf("Go over C: %.3f", ratios)
	assert.LessOrEqual(t, ratios[2], 1.5)
}
