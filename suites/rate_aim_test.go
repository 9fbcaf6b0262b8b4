package suites

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"hilrig/rig/board"
	"hilrig/rig/signal"
	"hilrig/rig/trace"
	"hilrig/suites/file"
)

// Of a board that sends a frame in about two turns, changes drawn anywhere tell something of the loop in every second
// trial; those that are aimed by the trials before do in nearly all, for they come where the turn may be
// which the next frame shows.
func TestChangesAreAimedWhereTheyTellTheLoop(t *testing.T) {
	const loop, output = 3960 * signal.Microsecond, 7960 * signal.Microsecond
	s := load(t, "")
	s.wiring.Tick = rateTick
	b := board.Bramble()
	b.LoopPeriod, b.OutputPeriod = loop, output
	s.WithBoard("two turns a frame", b)
	ses, err := s.open(t.Context(), &file.Suite{Name: rateName}, s.board, nil)
	require.NoError(t, err)
	defer ses.close()
	p := &rateRun{session: ses, draw: s.noise(rateName, "", "trials", 0)}
	first, err := p.trials(t.Context(), 75*ms, 2*output)
	require.NoError(t, err)
	drawn := telling(t, first, loop)
	a := first.aim(s.sentEvery(trace.YawRate))
	require.NotNil(t, a)
	second, err := p.aimed(t.Context(), 75*ms, 2*output, a)
	require.NoError(t, err)
	assert.Empty(t, second.why, "that they are not spread evenly is meant")
	aimed := telling(t, second, loop)
	t.Logf("%.2f of those drawn tell of the loop, %.2f of those aimed", drawn, aimed)
	assert.InDelta(t, 0.5, drawn, 0.15)
	assert.Greater(t, aimed, 0.8, "a tenth of a turn is left on either side")
	none := *first
	none.channel = trace.Throttle
	assert.Nil(t, none.aim(s.sentEvery(trace.YawRate)), "pulses have grids of their own")
	assert.Nil(t, first.aim(0), "nothing carries it")
}

// telling returns the share of changes that took effect within a turn, 0.1 ms of which pass after it in any case,
// before a frame.
func telling(t *testing.T, got *trials, loop signal.Time) float64 {
	step := &got.e.Steps[0]
	frames := got.e.Trace.Motor[0].Between(step.From, step.To)
	sent := carriersOf(got.e.Trace.Sent[trace.SentYawRate], step)
	require.NotEmpty(t, sent)
	n := 0.0
	for _, x := range sent {
		if k := begun(frames, x.End); k < len(frames) && frames[k].Start-x.End < loop {
			n++
		}
	}
	return n / float64(len(sent))
}
