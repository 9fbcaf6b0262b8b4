package benchtest

import (
	"slices"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"hilrig/rig"
	"hilrig/rig/signal"
)

func testReadBack(t *testing.T, s *subject) {
	kept := signal.Edge{At: 1, Line: s.To, Level: true}
	back, err := s.Bench.ReadBack([]signal.Edge{kept})
	require.NoError(t, err)
	require.Equal(t, []signal.Edge{kept}, back, "no time has passed, and what dst held stays")
	for i, l := range s.Bench.Layout().Lines {
		if sampled := s.Bench.Samples(signal.Line(i)); l.Direction == signal.Capture || slices.Contains(s.Logged, signal.Line(i)) {
			assert.False(t, sampled, l.Name)
		}
	}
	start := s.Bench.Now() + 10*ms
	at := []signal.Time{start, start + ms, start + 5*ms, start + 12*ms}
	s.drive(true, start+20*ms, at...)
	s.wait(start + 20*ms + s.Delay)
	back, err = s.Bench.ReadBack(nil)
	require.NoError(t, err)
	if s.Bench.Exact() {
		assert.Empty(t, back, "everything was on its wire when it was due")
		return
	}
	require.True(t, s.Bench.Samples(s.From), "the echo's line is no encoder's")
	var seen []signal.Edge
	last, level := signal.Time(0), false
	for _, e := range back {
		require.True(t, s.Bench.Samples(e.Line), s.Bench.Layout().Lines[e.Line].Name)
		require.GreaterOrEqual(t, e.At, last, "edges come in order of time")
		require.LessOrEqual(t, e.At, s.Bench.Now(), "no edge of the future")
		last = e.At
		if e.Line == s.From && e.Level != level {
			level = e.Level
			seen = append(seen, e)
		}
	}
	s.expect(true, seen, at...)
	back, err = s.Bench.ReadBack(nil)
	require.NoError(t, err)
	for _, e := range back {
		assert.True(t, e.Line != s.From || e.Level == level, "each is told once")
	}
}

func testLateStretches(t *testing.T, s *subject) {
	_, err := s.Bench.ReadBack(nil)
	require.NoError(t, err)
	for _, line := range s.Logged {
		name := s.Bench.Layout().Lines[line].Name
		const late = 10 * ms
		s.wait(s.Bench.Now() + 3*late)
		due := s.Bench.Now() - late
		require.NoError(t, s.Bench.Drive([]signal.Edge{{At: due, Line: line, Level: true}, {At: due + ms, Line: line}}, due+2*ms))
		s.wait(s.Bench.Now() + 2*late)
		kept := signal.LateStretch{From: 1, To: 2, Worst: 1, Count: 1}
		told := s.Bench.LateStretches([]signal.LateStretch{kept})
		require.Greater(t, len(told), 1, "%s was late", name)
		require.Equal(t, kept, told[0], "what dst held stays")
		assert.Equal(t, due, told[1].From, "%s: when the first was due", name)
		count, worst := int64(0), signal.Time(0)
		for _, o := range told[1:] {
			assert.GreaterOrEqual(t, o.To, o.From+rig.LateFloor)
			count += o.Count
			worst = max(worst, o.Worst)
		}
		assert.EqualValues(t, 2, count, "%s: both edges", name)
		assert.GreaterOrEqual(t, worst, late, name)
		assert.Empty(t, s.Bench.LateStretches(nil), "each is told once")
	}
	if len(s.Logged) == 0 {
		s.wait(s.Bench.Now() + 10*ms)
		assert.Empty(t, s.Bench.LateStretches(nil))
	}
}

// counting counts the edges that it lets pass.
type counting struct{ edges int }

func (d *counting) Pass(dst, edges []signal.Edge, _, _ signal.Time) []signal.Edge {
	d.edges += len(edges)
	return append(dst, edges...)
}

func (d *counting) Drop() bool { return true }

func testDisturb(t *testing.T, s *subject) {
	var d counting
	err := s.Bench.Disturb(s.Port, &d)
	if !s.CanDisturb {
		require.ErrorIs(t, err, rig.ErrNoDisturbing)
		return
	}
	require.NoError(t, err)
	end, err := s.Bench.Send(s.Port, s.Bench.Now()+10*ms, []byte{0x55})
	require.NoError(t, err)
	s.wait(end + ms)
	assert.Equal(t, 10, d.edges, "of a start bit, eight bits in turn and a stop bit")
}
