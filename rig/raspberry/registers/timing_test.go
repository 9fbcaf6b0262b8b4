package registers

import (
	"context"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"hilrig/rig/signal"
)

// Nothing is hidden: the gaps together are as long as the loop ran, whatever else the
// machine was doing, and every edge is in one of the counts.
func TestATrialAccountsForAllItsTimeAndEdges(t *testing.T) {
	k, err := TimingTrial{Time: turnsOfATest(), PinBank: &Memory{}, For: 200 * signal.Millisecond, Edges: 1e6}.Run(context.Background())
	require.NoError(t, err)
	assert.GreaterOrEqual(t, k.For, 200*signal.Millisecond)
	assert.GreaterOrEqual(t, float64(k.Gaps.TimeAbove(0)), 0.87*float64(k.For))
	assert.InDelta(t, 200e3, float64(k.Planned), 1, "1 M edges a second")
	assert.Equal(t, k.Planned, k.Played+k.Skipped)
	assert.Equal(t, k.Played, k.Late.Count)
	assert.InDelta(t, float64(k.Played)/2, float64(k.Back), 8, "the first line of each wheel comes back")
	if k.Skipped == 0 { // the ring of sampled edges holds more than the edge output may be behind
		assert.Zero(t, k.Lost)
	}
	assert.GreaterOrEqual(t, k.Ticks.Count, uint64(200))
	assert.LessOrEqual(t, k.Late.Quantile(0.5), k.Late.Most)
}

// What the loop has no time for is counted, and the loop goes on.
func TestATrialCountsWhatItCannotPlay(t *testing.T) {
	turns := turnsOfATest()
	turns.Turn = signal.Microsecond // as on a Pi 5
	k, err := TimingTrial{Time: turns, PinBank: &Memory{}, For: 600 * signal.Millisecond, Edges: 2e6}.Run(context.Background())
	require.NoError(t, err)
	assert.NotZero(t, k.Skipped)
	assert.NotZero(t, k.Played)
	assert.Equal(t, k.Planned, k.Played+k.Skipped)
	assert.Greater(t, k.Late.Most, 100*signal.Millisecond)
	assert.Contains(t, k.Encoders().Why, "later than", "%+v", k.Encoders())
}

// Ctrl-C ends a trial with what there is.
func TestATrialEndsEarly(t *testing.T) {
	ctx, stop := context.WithCancel(context.Background())
	reported := signal.Time(0)
	k, err := TimingTrial{Time: turnsOfATest(), PinBank: &Memory{}, For: 1000 * signal.Second, Edges: 1e5, Progress: func(done signal.Time) {
		if reported = done; done >= 100*signal.Millisecond {
			stop()
		}
	}}.Run(ctx)
	require.NoError(t, err)
	assert.GreaterOrEqual(t, reported, 100*signal.Millisecond)
	assert.GreaterOrEqual(t, k.For, reported)
	assert.Less(t, k.For, 20*signal.Second)
	assert.NotZero(t, k.Played)
}

func TestATrialRefusesWhatItCannotMeasure(t *testing.T) {
	for _, trial := range []TimingTrial{
		{Time: turnsOfATest(), PinBank: &Memory{}, For: 0, Edges: 1},
		{Time: turnsOfATest(), PinBank: &Memory{}, For: 1, Edges: -1},
		{Time: turnsOfATest(), PinBank: &Memory{}, For: 1, Edges: MostEdges * 2},
		{Time: turnsOfATest(), For: 1, Edges: 1},
	} {
		_, err := trial.Run(context.Background())
		assert.Error(t, err)
	}
}

// A bank that is left alone is written with empty masks and read as it is.
func TestPinsAreLeftAlone(t *testing.T) {
	pins := &watched{}
	k, err := TimingTrial{Time: turnsOfATest(), PinBank: LeaveAlone(pins), For: 20 * signal.Millisecond, Edges: 1e6}.Run(context.Background())
	require.NoError(t, err)
	assert.NotZero(t, k.Played)
	assert.GreaterOrEqual(t, pins.writes, k.Played)
	assert.Zero(t, pins.mask)
	assert.EqualValues(t, 0x55, LeaveAlone(pins).Level())
	assert.Zero(t, k.Back, "nothing comes back without a wire")
}

type watched struct {
	writes uint64
	mask   uint32
}

func (w *watched) Set(mask uint32)   { w.writes++; w.mask |= mask }
func (w *watched) Clear(mask uint32) { w.writes++; w.mask |= mask }
func (w *watched) Level() uint32     { return 0x55 }
