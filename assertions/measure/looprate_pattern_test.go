package measure_test

import (
	"math"
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"hilrig/assertions/measure"
	"hilrig/rig/benchtest/drawn"
)

// windowed is a board that counts the wheels' marks over windows, takes the mean speed of the last four, and
// turns and sends its frames by timers of their own, all of one clock. What comes in beside moves its commands by
// noise every 5 ms, which a low-pass in the loop lets through.
type windowed struct {
	window, turn, frame float64 // s
	noise               float64 // of what comes in beside, share of the output's range, rms
}

func (b windowed) run(seconds float64, random *rand.Rand) (frames []measure.Answer) {
	var speeds [4]float64
	speed, beside, filtered, command := 3.0, 0.0, 0.0, 0.0
	window, turn, in := b.window*random.Float64(), b.turn*random.Float64(), 5e-3*random.Float64()
	windows := 0
	for frame := 4*b.window + b.frame*random.Float64(); frame < seconds; frame += b.frame {
		for next := min(window, turn, in); next <= frame; next = min(window, turn, in) {
			switch next {
			case window:
				speeds[windows%4] = input(window - b.window/2)
				windows++
				speed = (speeds[0] + speeds[1] + speeds[2] + speeds[3]) / 4
				window += b.window
			case turn:
				filtered += (beside - filtered) / 6
				command = output(speed) + filtered
				turn += b.turn
			default:
				beside = b.noise * random.NormFloat64()
				in += 5e-3
			}
		}
		frames = append(frames, measure.Answer{At: frame, Value: math.Round(command*1000) / 1000})
	}
	return frames
}

// A board that counts marks over windows reads the speed once in each: nothing is decided of it but that, or its
// turns, whatever windows, turns and frames of the same clock make of each other.
func TestWindowsAreNoTurns(t *testing.T) {
	decided, tried := 0, 0
	rows := []windowed{
		{5e-3, 2e-3, 2.5e-3, 0.0004}, {10e-3, 2e-3, 2.5e-3, 0.003}, {5e-3, 1e-3, 3e-3, 0.001},
		{10e-3, 4e-3, 3e-3, 0.004}, {20.11e-3, 1.93e-3, 2.07e-3, 0.006}, {10.037e-3, 1.97e-3, 1.013e-3, 0.012},
	}
	for i, b := range rows {
		if !drawn.Row(i, 3) {
			continue
		}
		tried++
		u, err := measure.UpdatePeriod(played(9), b.run(9, rand.New(rand.NewPCG(11, uint64(i)))), 0.001)
		require.NoError(t, err)
		switch {
		case u.Decided():
			decided++
			off := min(math.Abs(u.Period/b.window-1), math.Abs(u.Period/b.turn-1))
			assert.Less(t, off, 0.01, "%+v: %.2f ms", b, u.Period*1000)
		case u.Unresolved:
			assert.LessOrEqual(t, b.turn, u.Within.High, "%+v", b)
		}
	}
	assert.Positive(t, tried)
	assert.True(t, tried < len(rows) || decided >= 2, "of all rows %d are decided", decided)
}
