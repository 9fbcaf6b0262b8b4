// Package benchtest is the conformance suite that every bench passes.
//
// A bench is tested with an echo: one driven line whose level comes back on one
// captured line, through a board that copies it or a piece of wire. [Run] opens
// a new bench for each of its tests and asks it for everything that [rig.Bench]
// promises.
//
// # Time
//
// Virtual or real: the suite waits on the bench alone and allows it to be later
// than asked, and an echo to be as late as the [Subject] says.
package benchtest

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"hilrig/rig"
	"hilrig/rig/signal"
)

// Subject is a bench with what the suite has to know of it.
type Subject struct {
	Bench rig.Bench

	// To takes on every level of From, both at rest low, within Delay of the
	// edge, stamps included. From is driven, To captured.
	From, To signal.Line
	Delay    signal.Time

	Port       signal.Port // one that may be sent on
	CanRestart bool        // Restart is possible here
	CanDisturb bool        // and so is Disturb
	Strict     bool        // after a call that was refused nothing is played any more

	// Logged are driven lines that the bench does not sample. An edge of theirs that is handed
	// over when its time is past is played at once, and the bench's log tells of it.
	Logged []signal.Line
}

// Run tests benches that open opens, each in a test of its own. The suite closes them.
func Run(t *testing.T, open func(t testing.TB) Subject) {
	for _, c := range []struct {
		name string
		test func(t *testing.T, s *subject)
	}{
		{"layout", testLayout},
		{"time passes in wait alone", testTime},
		{"edges are echoed in order", testEcho},
		{"edges to come are kept", testKept},
		{"no reference to edges is kept", testNoReference},
		{"captured edges are given once", testCapturedOnce},
		{"bad edges are refused", testRefused},
		{"send plans the end of its last stop bit", testSend},
		{"bad sends are refused", testSendRefused},
		{"safe drops what was handed over", testSafe},
		{"safe brings lines to idle", testSafeIdle},
		{"safe drops bytes still to be sent", testSafeSend},
		{"driven lines are read back", testReadBack},
		{"what is not read back and late is told", testLateStretches},
		{"ports are disturbed", testDisturb},
		{"restart", testRestart},
		{"close may be called again", testClose},
	} {
		t.Run(c.name, func(t *testing.T) {
			s := &subject{Subject: open(t), t: t}
			t.Cleanup(func() { assert.NoError(t, s.Bench.Close()) })
			c.test(t, s)
		})
	}
}

const ms = signal.Millisecond

// subject adds to a Subject what the tests do over and over.
type subject struct {
	Subject
	t     *testing.T
	level bool // of To, as captured
}

// drive hands over edges of From, at these times, rising and falling in turn, from rising on.
func (s *subject) drive(rising bool, until signal.Time, at ...signal.Time) {
	s.t.Helper()
	edges := make([]signal.Edge, len(at))
	for i := range at {
		edges[i] = signal.Edge{At: at[i], Line: s.From, Level: rising == (i&1 == 0)}
	}
	require.NoError(s.t, s.Bench.Drive(edges, until))
}

// wait waits and checks that the time has come.
func (s *subject) wait(until signal.Time) {
	s.t.Helper()
	require.NoError(s.t, s.Bench.Wait(until))
	require.GreaterOrEqual(s.t, s.Bench.Now(), until)
}

// captured returns the edges of To captured since the last call, without the
// sampler's gaps, and checks of all edges what holds of any.
func (s *subject) captured() (echo []signal.Edge) {
	s.t.Helper()
	edges, err := s.Bench.Captured(nil)
	require.NoError(s.t, err)
	lines := s.Bench.Layout().Lines
	last := signal.Time(0)
	for _, e := range edges {
		require.Less(s.t, int(e.Line), len(lines))
		require.Equal(s.t, signal.Capture, lines[e.Line].Direction, "edge of %s", lines[e.Line].Name)
		require.GreaterOrEqual(s.t, e.At, last, "edges come in order of time")
		require.LessOrEqual(s.t, e.At, s.Bench.Now(), "no edge of the future")
		last = e.At
		if e.Line != s.To {
			continue
		}
		if e.Level == s.level {
			require.NotZero(s.t, e.Uncertainty, "an edge to the level that its line has already is a gap")
			continue
		}
		s.level = e.Level
		echo = append(echo, e)
	}
	return echo
}

// expect checks that an echo answers edges driven at these times.
func (s *subject) expect(rising bool, echo []signal.Edge, at ...signal.Time) {
	s.t.Helper()
	require.Len(s.t, echo, len(at))
	for i, e := range echo {
		assert.Equal(s.t, rising == (i&1 == 0), e.Level, "level of echo %d", i)
		assert.GreaterOrEqual(s.t, e.At, at[i], "echo %d is not earlier than its edge", i)
		assert.LessOrEqual(s.t, e.At, at[i]+s.Delay, "echo %d comes within its delay", i)
	}
}

func testLayout(t *testing.T, s *subject) {
	l := s.Bench.Layout()
	assert.Equal(t, l, s.Bench.Layout(), "it does not change")
	names := map[string]bool{}
	for _, line := range l.Lines {
		assert.NotEmpty(t, line.Name)
		assert.False(t, names[line.Name], "two lines are called %s", line.Name)
		names[line.Name] = true
	}
	for _, p := range l.Ports {
		require.Less(t, int(p.Line), len(l.Lines))
		assert.Equal(t, signal.Drive, l.Lines[p.Line].Direction, "port %s", p.Name)
	}
	require.Less(t, int(s.Port), len(l.Ports))
	assert.Equal(t, signal.Drive, l.Lines[s.From].Direction)
	assert.Equal(t, signal.Capture, l.Lines[s.To].Direction)
}

func testTime(t *testing.T, s *subject) {
	start := s.Bench.Now()
	s.drive(true, start+20*ms)
	_, err := s.Bench.Send(s.Port, start+10*ms, []byte{0x55})
	require.NoError(t, err)
	s.captured()
	for i := signal.Time(1); i <= 5; i++ {
		s.wait(start + i*ms)
	}
	now := s.Bench.Now()
	assert.NoError(t, s.Bench.Wait(now), "waiting for the present is no error")
	assert.GreaterOrEqual(t, s.Bench.Now(), now)
}

func testClose(t *testing.T, s *subject) {
	start := s.Bench.Now()
	s.drive(true, start+2*ms, start+ms)
	s.wait(start + 2*ms)
	assert.NoError(t, s.Bench.Close())
	assert.NoError(t, s.Bench.Close())
}
