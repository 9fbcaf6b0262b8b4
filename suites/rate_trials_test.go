package suites

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"hilrig/assertions"
	"hilrig/rig/signal"
	"hilrig/rig/trace"
	"hilrig/suites/file"
)

// ratedTrialsOf plays the trials of hilrig rate on the demo bench, with a sensor of that
// period, changes at least so far apart and with that spread.
func ratedTrialsOf(t *testing.T, period, apart, spread signal.Time) *trials {
	t.Helper()
	s := load(t, "")
	s.wiring.Tick = rateTick
	s.wiring.Frames[0].Period = period
	ses, err := s.open(t.Context(), &file.Suite{Name: rateName}, s.board, nil)
	require.NoError(t, err)
	defer ses.close()
	p := &rateRun{session: ses, draw: s.noise(rateName, "", "trials", 0)}
	got, err := p.trials(t.Context(), apart, spread)
	require.NoError(t, err)
	return got
}

// carriersOf returns the first frame after each change of a step that is nearer to the new level.
func carriersOf(list []trace.Sent, s *assertions.Step) (all []trace.Sent) {
	k := 0
	for i, change := range s.Changes {
		from, to := s.Levels[i%2], s.Levels[(i+1)%2]
		for k < len(list) && (list[k].Start < change || math.Abs(list[k].Value-to) >= math.Abs(list[k].Value-from)) {
			k++
		}
		if k < len(list) {
			all = append(all, list[k])
		}
	}
	return all
}

// The frames of the sensor move with the changes: each change waits as long for its frame,
// whatever the period, so that the wait takes nothing from the answer's spread.
func TestRatedChangesWaitAlikeForTheirFrame(t *testing.T) {
	for _, period := range []signal.Time{5 * ms, 7 * ms} {
		got := ratedTrialsOf(t, period, 11*ms, 13*ms)
		step := &got.e.Steps[0]
		sent := carriersOf(got.e.Trace.Sent[trace.SentYawRate], step)
		require.Len(t, sent, ratedTrials)
		least, most := signal.Second, signal.Time(0)
		for i, at := range step.Changes {
			wait := sent[i].Start - at
			least, most = min(least, wait), max(most, wait)
		}
		assert.GreaterOrEqual(t, least, signal.Time(0))
		assert.LessOrEqual(t, most-least, rateTick, "a change is taken at a tick: %v to %v with frames every %v", least, most, period)
	}
}

// What is added between two changes is drawn evenly, on top of whole frames.
func TestRatedChangesAreSpread(t *testing.T) {
	const period, spread = 7 * ms, 13 * ms
	got := ratedTrialsOf(t, period, 11*ms, spread)
	changes := got.e.Steps[0].Changes
	require.Len(t, changes, ratedTrials)
	thirds := [3]int{}
	for i := range changes[1:] {
		extra := changes[i+1] - changes[i] - 2*period
		require.GreaterOrEqual(t, extra, signal.Time(0), "two frames hold 11 ms")
		require.Less(t, extra, spread)
		thirds[extra*3/spread]++
	}
	for i, n := range thirds { // 68 each; five standard deviations are 34
		assert.InDelta(t, 68, n, 34, "third %d of the spread", i)
	}
}
