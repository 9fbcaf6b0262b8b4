//go:build linux

package chardev

import (
	"context"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"hilrig/rig/raspberry/cdev"
	"hilrig/rig/signal"
)

// Nothing is hidden, however busy the machine is: every edge is in one of the counts,
// and every one that a chip in memory let through was reported.
func TestACharTrialAccountsForAllItsEdges(t *testing.T) {
	inRealTime(t)
	chip := newFakeChip()
	chip.wire[17] = 22
	trial := Trial{Jumper: &Link{17, 22}, For: 60 * ms, Edges: 5e3}
	k, err := trial.over(t.Context(), chip, []float64{1e3})
	require.NoError(t, err)
	assert.EqualValues(t, 6*48, k.Planned, "six bursts of 9.5 ms")
	assert.Equal(t, k.Planned, k.Played+k.Skipped)
	assert.Equal(t, k.Played, k.Late.Count)
	assert.Equal(t, k.Played, k.Calls.Count)
	assert.Zero(t, k.Several.Count)
	assert.GreaterOrEqual(t, k.Late.Most, k.Calls.Quantile(0))
	assert.GreaterOrEqual(t, k.For, 60*ms)
	j := k.Jumper
	assert.Equal(t, Link{17, 22}, j.Link)
	assert.Equal(t, []uint64{k.Played, 0, 0, 0, 0}, []uint64{j.Heard, j.Lost, j.Extra, j.Turned, j.Invalidated})
	assert.Equal(t, j.Heard, j.Stamps.Count)
	assert.LessOrEqual(t, j.Stamps.Most, k.Late.Most, "memory stamps before the call returns")
	assert.GreaterOrEqual(t, j.Read.Count, j.Heard)
	assert.LessOrEqual(t, j.Widths.Count, j.Heard-1)
	assert.NotZero(t, j.Widths.Count)
	require.Len(t, j.Rungs, 1)
	assert.EqualValues(t, 200, j.Rungs[0].Planned)
	assert.Zero(t, j.Rungs[0].Lost)
	assert.Positive(t, j.Rungs[0].Late)
	assert.Empty(t, chip.user, "the lines were given back")
	assert.False(t, chip.high(17), "low in the end")
	assert.Equal(t, 1, chip.closed)
}

// lossy is a chip that keeps every n-th event to itself.
type lossy struct {
	*fakeChip
	n, seen, lost int
}

func (l *lossy) Inputs(lines []uint32, up uint64) (charInputs, error) {
	in, err := l.fakeChip.Inputs(lines, up)
	return lossyInputs{in, l}, err
}

type lossyInputs struct {
	charInputs
	of *lossy
}

func (in lossyInputs) Read(dst []cdev.Event) (n int, err error) {
	got, err := in.charInputs.Read(dst)
	for _, e := range dst[:got] {
		if in.of.seen++; in.of.seen%in.of.n == 0 {
			in.of.lost++
			continue
		}
		dst[n] = e
		n++
	}
	return n, err
}

// What a chip keeps to itself is counted, one by one, and ends the search for a rate.
func TestACharTrialCountsWhatIsLost(t *testing.T) {
	inRealTime(t)
	chip := &lossy{fakeChip: newFakeChip(), n: 50}
	chip.wire[17] = 22
	k, err := Trial{Jumper: &Link{17, 22}, For: 100 * ms, Edges: 5e3}.over(t.Context(), chip, []float64{500, 5e3, 10e3})
	require.NoError(t, err)
	j := k.Jumper
	assert.Equal(t, k.Played, j.Heard+j.Lost)
	assert.EqualValues(t, k.Played/50, j.Lost)
	assert.NotZero(t, j.Invalidated)
	assert.Less(t, j.Stamps.Count, j.Heard)
	require.NotEmpty(t, j.Rungs)
	require.LessOrEqual(t, len(j.Rungs), 2, "5000 a second lose some, and nothing faster is tried")
	for i, r := range j.Rungs {
		assert.Equal(t, i < len(j.Rungs)-1, r.Well())
	}
	assert.Less(t, j.Highest, 5e3)
}

// stillFake counts what would set lines.
type stillFake struct{ one, several int }

func (s *stillFake) Outputs([]uint32, uint64) (charOutputs, error) { return s, nil }
func (s *stillFake) Inputs([]uint32, uint64) (charInputs, error)   { return quietInputs{}, nil }
func (s *stillFake) Close() error                                  { return nil }
func (s *stillFake) Set(mask, _ uint64) error {
	if mask&(mask-1) == 0 {
		s.one++
	} else {
		s.several++
	}
	return nil
}

func TestACharTrialPlaysAVehicleWithoutAJumper(t *testing.T) {
	inRealTime(t)
	device := &stillFake{}
	reported := signal.Time(-1)
	trial := Trial{For: 60 * ms, Edges: 5e3, Progress: func(done signal.Time) { reported = done }}
	k, err := trial.still(t.Context(), device, []int{23, 24, 25, 26})
	require.NoError(t, err)
	assert.Nil(t, k.Jumper)
	assert.Equal(t, []int{23, 24, 25, 26}, k.Read)
	assert.Equal(t, k.Planned, k.Played+k.Skipped)
	assert.InDelta(t, 300+12*receiverChannels, k.Planned, 4)
	assert.EqualValues(t, device.one, k.Calls.Count)
	assert.EqualValues(t, device.several-1, k.Several.Count, "the last makes the bench safe")
	if k.Skipped == 0 {
		assert.EqualValues(t, 12, k.Several.Count, "three channels by one call")
	}
	assert.GreaterOrEqual(t, k.Ticks.Count, uint64(60))
	assert.GreaterOrEqual(t, reported, signal.Time(0))
}

// Ctrl-C ends a trial with what there is, and nothing else is tried.
func TestACharTrialEndsEarly(t *testing.T) {
	inRealTime(t)
	chip := newFakeChip()
	chip.wire[17] = 22
	ctx, stop := context.WithCancel(t.Context())
	k, err := Trial{Jumper: &Link{17, 22}, For: 1000 * signal.Second, Edges: 1e3, Progress: func(done signal.Time) {
		if done >= 100*ms {
			stop()
		}
	}}.over(ctx, chip, rungs)
	require.NoError(t, err)
	assert.GreaterOrEqual(t, k.For, 100*ms)
	assert.Less(t, k.For, 20*signal.Second)
	assert.NotZero(t, k.Jumper.Stamps.Count)
	assert.Empty(t, k.Jumper.Rungs)
}

func TestACharTrialRefusesWhatItCannotMeasure(t *testing.T) {
	for _, trial := range []Trial{
		{For: 0, Edges: 1},
		{For: 1, Edges: -1},
		{For: 1, Edges: 2 * MostEdges},
		{For: 1, Edges: 0, Jumper: &Link{17, 22}},
		{For: 1, Edges: 1, Jumper: &Link{17, 17}},
		{For: 1, Edges: 1, Jumper: &Link{17, 255}},
		{For: 1, Edges: 1, Path: "/dev/null"},
	} {
		_, err := trial.Run(t.Context())
		assert.Error(t, err)
	}
}
