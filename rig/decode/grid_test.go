package decode_test

import (
	"testing"

	"github.com/stretchr/testify/assert"

	"hilrig/rig/decode"
	"hilrig/rig/signal"
	"hilrig/rig/trace"
)

// begin returns frames that begin at these times, in us.
func begin(at ...signal.Time) (frames []trace.Frame) {
	for _, t := range at {
		frames = append(frames, trace.Frame{Start: t * us, End: t*us + 100*us})
	}
	return frames
}

func TestGrid(t *testing.T) {
	assert.Equal(t, decode.Grid{}, decode.GridOf(nil))
	assert.Equal(t, decode.Grid{Frames: 1}, decode.GridOf(begin(5)))
	assert.Zero(t, decode.GridOf(begin(5)).Rate())

	g := decode.GridOf(begin(0, 1000, 2000, 3000))
	assert.Equal(t, decode.Grid{Frames: 4, Period: 1e-3, Least: ms, Most: ms}, g)
	assert.InDelta(t, 1000, g.Rate(), 1e-9)

	// Intervals 990, 1010, 1000, 1020, 980: standard deviation sqrt(1000/4) us.
	g = decode.GridOf(begin(0, 990, 2000, 3000, 4020, 5000))
	assert.InDelta(t, 1e-3, g.Period, 1e-15)
	assert.InDelta(t, 15.811388e-6, g.Jitter, 1e-12)
	assert.Equal(t, 980*us, g.Least)
	assert.Equal(t, 1020*us, g.Most)

	// Frames left out make no long period.
	g = decode.GridOf(begin(0, 1000, 2000, 5000, 6000, 7000, 9000))
	assert.Equal(t, decode.Grid{Frames: 7, Period: 1e-3, Least: ms, Most: ms, Skipped: 2}, g)
}
