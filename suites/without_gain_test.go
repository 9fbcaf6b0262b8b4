package suites

import (
	"testing"

	"github.com/stretchr/testify/assert"

	"hilrig/rig/trace"
	"hilrig/stimulus"
	"hilrig/suites/file"
)

// The drive that another is compared with has the gain trim at zero throughout and is the
// same but for that; the case itself is left as it was.
func TestWithoutGainNothingIsShifted(t *testing.T) {
	c := twoSteps()
	throttle := file.Moving{Channel: trace.Throttle, Shape: stimulus.Hold(0.5)}
	c.Steps[1].Shapes = []file.Moving{throttle, {Channel: trace.Gain, Shape: stimulus.Hold(1)}}
	off := withoutGain(c)
	for i := range off.Steps {
		assert.Zero(t, off.Steps[i].Values.Gain)
		off.Steps[i].Values.Gain = c.Steps[i].Values.Gain
		assert.Equal(t, c.Steps[i].Values, off.Steps[i].Values)
	}
	assert.Equal(t, []file.Moving{throttle}, off.Steps[1].Shapes)
	assert.Len(t, c.Steps[1].Shapes, 2)
	assert.InDelta(t, 0.5, c.Steps[1].Values.Gain, 0)
}
