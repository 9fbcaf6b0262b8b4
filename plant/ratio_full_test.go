//go:build full

package plant

import (
	"slices"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
)

// TestStepAgainstTwin holds a step in Go to at most 1.5 times the C twin's time,
// the shortest of seven runs each, taken by turns.
func TestStepAgainstTwin(t *testing.T) {
	const steps = 200_000
	w := compileTwin(t)
	m, s := cornering(t)
	start := m.State()
	in := s.input()
	var inGo, inC []float64
	for range 7 {
		m.Reset(start)
		inC = append(inC, w.nsPerStep(t, m, s))
		began := time.Now()
		for n := range steps {
			if n%1000 == 0 {
				m.Reset(start)
			}
			m.Step(in, s.dt)
		}
		inGo = append(inGo, float64(time.Since(began).Nanoseconds())/steps)
	}
	t.Logf("ns per step: Go %.0f, C %.0f", inGo, inC)
	assert.LessOrEqual(t, slices.Min(inGo)/slices.Min(inC), 1.5)
}
