package stimulus_test

import (
	"testing"

	"github.com/stretchr/testify/assert"

	"hilrig/rig/trace"
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

func TestProgramFillsARow(t *testing.T) {
	p := stimulus.Held(stimulus.Values{Speed: 4, YawRate: -1, Steer: 0.1, Throttle: 0.4, Gain: 0.5}, 70*ms)
	p.Speed.RampTo(10*ms, 10*ms, 6)
	var row, want [trace.Channels]float64
	for c := range row {
		row[c] = 99
	}
	want = row
	want[trace.Speed], want[trace.YawRate], want[trace.Steer] = 5, -1, 0.1
	want[trace.Throttle], want[trace.Gain] = 0.4, 0.5
	p.At(15*ms, &row)
	assert.Equal(t, want, row)
}

func TestProgramAllocatesNothing(t *testing.T) {
	p := stimulus.Held(stimulus.Values{Speed: 4}, 70*ms)
	p.Speed.RampTo(10*ms, 10*ms, 6)
	var row [trace.Channels]float64
	assert.Zero(t, testing.AllocsPerRun(100, func() { p.At(15*ms, &row) }))
}
