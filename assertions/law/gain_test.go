package law_test

import (
	"testing"

	"github.com/stretchr/testify/assert"

	"hilrig/assertions/law"
)

// Of a trim that is a switch the nearest step is taken for sure but about the middle of two, which a tenth of their distance about it is.
func TestTheLeastGainThatATrimIsTakenFor(t *testing.T) {
	p := &law.Policy{GainSteps: []float64{0, 0.5, 1}}
	for trim, want := range map[float64]float64{0: 0, 0.15: 0, 0.25: 0, 0.29: 0, 0.31: 0.5, 0.35: 0.5, 0.65: 0.5, 0.79: 0.5, 0.81: 1, 1: 1} {
		assert.InDelta(t, want, p.LeastGain(trim), 1e-12, "%v", trim)
	}
	assert.InDelta(t, 0.37, (&law.Policy{}).LeastGain(0.37), 1e-12, "a trim that is no switch is taken as it is")
}
