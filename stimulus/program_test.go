package stimulus_test

import (
	"testing"

	"github.com/stretchr/testify/assert"

	"hilrig/stimulus"
)

func TestHeld(t *testing.T) {
	v := stimulus.Values{Speed: 4, YawRate: -1, Steer: 0.1, Throttle: 0.4, Gain: 0.5}
	p := stimulus.Held(v, 70*ms)
	assert.Equal(t, 70*ms, p.Length)
	assert.Equal(t, v, p.Values(0))
	assert.Equal(t, v, p.Values(500*ms))
	assert.False(t, p.Closed)
	for _, w := range p.Wheels {
		assert.Nil(t, w)
	}
}

func TestProgramGivesItsValues(t *testing.T) {
	p := stimulus.Held(stimulus.Values{Speed: 4, YawRate: -1, Steer: 0.1, Throttle: 0.4, Gain: 0.5}, 70*ms)
	p.Speed.RampTo(10*ms, 10*ms, 6)
	want := stimulus.Values{Speed: 5, YawRate: -1, Steer: 0.1, Throttle: 0.4, Gain: 0.5}
	assert.Equal(t, want, p.Values(15*ms))
}

func TestProgramAllocatesNothing(t *testing.T) {
	p := stimulus.Held(stimulus.Values{Speed: 4}, 70*ms)
	p.Speed.RampTo(10*ms, 10*ms, 6)
	var v stimulus.Values
	assert.Zero(t, testing.AllocsPerRun(100, func() { v = p.Values(15 * ms) }))
	assert.NotZero(t, v)
}
