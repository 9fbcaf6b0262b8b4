package assertions

import (
	"testing"

	"github.com/stretchr/testify/assert"

	"hilrig/rig/trace"
)

func TestFewUnsureFramesAreLeftOut(t *testing.T) {
	of := func(uncertainties ...float64) (frames []trace.Frame) {
		for range 20 {
			frames = append(frames, trace.Frame{Uncertainty: 0.001})
		}
		for _, d := range uncertainties {
			frames = append(frames, trace.Frame{Uncertainty: d})
		}
		return frames
	}
	for _, c := range []struct {
		name   string
		frames []trace.Frame
		kept   int
	}{
		{"all alike", of(), 20},
		{"two in a gap", of(0.01, 0.005), 20},
		{"not so much less sure", of(0.004, 0.003), 22},
		{"too many", of(0.01, 0.01, 0.01, 0.01, 0.01, 0.01, 0.01), 27},
		{"no uncertainty but in one", append(make([]trace.Frame, 20), trace.Frame{Uncertainty: 0.01}), 20},
		{"too few to leave any out", []trace.Frame{{}, {}, {Uncertainty: 0.01}}, 3},
	} {
		t.Run(c.name, func(t *testing.T) { assert.Len(t, withoutUncertain(c.frames), c.kept) })
	}
}
