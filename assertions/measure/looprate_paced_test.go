package measure_test

import (
	"math"
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"hilrig/assertions/measure"
)

// A loop that sends a frame as each turn ends, and whose turns come unevenly, paces its
// frames: its period is theirs.
func TestFramesThatTheLoopPaces(t *testing.T) {
	random := rand.New(rand.NewPCG(3, 1))
	const period = 4e-3
	var frames []measure.Answer
	at := 0.1
	for at < 2.3 {
		value := output(input(at-0.2e-3)) + 3e-4*random.NormFloat64()
		frames = append(frames, measure.Answer{At: at, Value: math.Round(value*1000) / 1000})
		at += period * (1 + 0.06*(random.Float64()-0.5))
	}
	u, err := measure.UpdatePeriod(played(2.3), frames, 0.001)
	require.NoError(t, err)
	assert.True(t, u.Paced, "%+v", u)
	assert.True(t, u.Decided())
	assert.True(t, holds(u.Within, period), "%+v", u)
	assert.Less(t, u.Within.Width(), 0.01*period)
}

// A turn that comes late shows as the longest time without a reading, and leaves the period
// as it is.
func TestAStallIsTheLongestGapAndNotThePeriod(t *testing.T) {
	const period, stalled = 5e-3, 12e-3
	read := func(at float64) float64 { // when what is sent at a time was read
		turn := math.Floor(at/period) * period
		if at > 1 && at < 1+stalled { // no reading from 1 s on
			return 1
		}
		return turn
	}
	var frames []measure.Answer
	for at := 0.1; at < 2.3; at += 0.7e-3 {
		value := output(input(read(at)))
		frames = append(frames, measure.Answer{At: at, Value: math.Round(value*2000) / 2000})
	}
	u, err := measure.UpdatePeriod(played(2.3), frames, 1.0/2000)
	require.NoError(t, err)
	assert.True(t, u.Decided(), "%+v", u)
	assert.True(t, holds(u.Within, period), "%+v", u)
	assert.LessOrEqual(t, u.Longest.Low, stalled+1e-9)
	assert.GreaterOrEqual(t, u.Longest.High, stalled)
	assert.Greater(t, u.Longest.Low, 2*period)
}

// A board that reads the input now in the next turn and now in the one after has no one period of
// its readings: it is said, and no period within bounds is made of it.
func TestReadingsThatSlip(t *testing.T) {
	random := rand.New(rand.NewPCG(9, 2))
	const period, frame = 2.6e-3, 5.41e-3
	var frames []measure.Answer
	read, next := 0.0, 0.1
	for at := 0.1; at < 2.29; at += frame {
		for next <= at {
			read = next
			next += period * (1 + 0.06*(random.Float64()-0.5))
			if random.IntN(7) > 0 {
				next += period * (1 + 0.06*(random.Float64()-0.5))
			}
		}
		frames = append(frames, measure.Answer{At: at, Value: math.Round((output(input(read))+8e-4*random.NormFloat64())*1000) / 1000})
	}
	u, err := measure.UpdatePeriod(played(2.3), frames, 0.001)
	require.NoError(t, err)
	assert.True(t, u.Slips || u.Unresolved, "%+v", u)
	u, err = measure.UpdatePeriodWithin(played(2.3), frames, 0.001, measure.Interval{Low: 0.7 * period, High: 1.3 * period})
	require.NoError(t, err)
	assert.False(t, u.Decided(), "%+v", u)
}

// A board that reads the input in every second turn alone seems to turn half as often, until
// other evidence says where its period lies.
func TestBoundsSettleHowManyTurnsThereAre(t *testing.T) {
	random := rand.New(rand.NewPCG(5, 1))
	const period, frame = 2e-3, 1.37e-3
	in := played(2.3)
	for at := 0.0; at < 2.3; at += 5e-3 {
		in.Beside = append(in.Beside, measure.Known{At: at, Value: random.NormFloat64()})
	}
	beside := func(at float64) float64 { return in.Beside[int(at/5e-3)].Value }
	var frames []measure.Answer
	for at := 0.1; at < 2.29; at += frame {
		turn := math.Floor((at-0.3e-3)/period) * period
		second := math.Floor((at-0.3e-3)/(2*period)) * 2 * period
		value := output(input(second)) + 0.004*beside(turn)
		frames = append(frames, measure.Answer{At: at, Value: math.Round(value*2000) / 2000})
	}
	likely := measure.Interval{Low: 0.8 * period, High: 1.2 * period}
	u, err := measure.UpdatePeriodWithin(in, frames, 1.0/2000, likely)
	require.NoError(t, err)
	assert.True(t, u.Decided(), "%+v", u)
	assert.InEpsilon(t, period, u.Period, 0.01, "%+v", u)
}

// Where answers wait for nothing but the next frame, a sensor that is read in turns of its own tells these and not those
// of the loop, which are as many as the frames at least.
func TestFramesThatNothingElseIsWaitedFor(t *testing.T) {
	const frame, window = 1.3e-3, 3.1e-3
	var frames []measure.Answer
	for at := 0.1; at < 2.29; at += frame {
		value := output(input(math.Floor(at/window) * window))
		frames = append(frames, measure.Answer{At: at, Value: math.Round(value*2000) / 2000})
	}
	u, err := measure.UpdatePeriod(played(2.3), frames, 1.0/2000)
	require.NoError(t, err)
	require.InEpsilon(t, window, u.Period, 0.01, "%+v", u)
	u, err = measure.UpdatePeriodWithin(played(2.3), frames, 1.0/2000, measure.Interval{High: 0.1e-3})
	require.NoError(t, err)
	assert.True(t, u.Locked, "%+v", u)
	assert.InEpsilon(t, frame, u.Period, 1e-6, "%+v", u)
}
