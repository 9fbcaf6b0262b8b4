package benchtest

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"hilrig/rig/signal"
)

func testEcho(_ *testing.T, s *subject) {
	start := s.Bench.Now() + 10*ms
	var at []signal.Time
	for i := range signal.Time(20) {
		at = append(at, start+i*2*(s.Delay+ms)+i*i*signal.Microsecond)
	}
	end := at[len(at)-1] + ms
	s.drive(true, end, at...)
	s.wait(end + s.Delay)
	s.expect(true, s.captured(), at...)
}

func testKept(t *testing.T, s *subject) {
	start := s.Bench.Now()
	first, second := start+10*ms, start+60*ms+s.Delay
	s.drive(true, second+ms, first, second)
	s.wait(first + s.Delay)
	s.expect(true, s.captured(), first)
	if s.Bench.Now() < second {
		assert.Empty(t, s.captured(), "the second edge is still to come")
	}
	s.wait(second + s.Delay)
	s.expect(false, s.captured(), second)
}

func testNoReference(t *testing.T, s *subject) {
	at := s.Bench.Now() + 20*ms
	edges := []signal.Edge{{At: at, Line: s.From, Level: true}}
	require.NoError(t, s.Bench.Drive(edges, at+ms))
	edges[0] = signal.Edge{At: at - 10*ms, Line: s.To}
	s.wait(at + s.Delay)
	s.expect(true, s.captured(), at)
}

func testCapturedOnce(t *testing.T, s *subject) {
	at := s.Bench.Now() + 10*ms
	s.drive(true, at+ms, at)
	s.wait(at + s.Delay)
	kept := signal.Edge{At: 1, Line: s.To, Level: true}
	edges, err := s.Bench.Captured([]signal.Edge{kept})
	require.NoError(t, err)
	require.NotEmpty(t, edges)
	assert.Equal(t, kept, edges[0], "what dst held stays in front")
	echo := 0
	for _, e := range edges[1:] {
		if e.Line == s.To && e.Level != s.level {
			s.level = e.Level
			echo++
		}
	}
	assert.Equal(t, 1, echo)
	assert.Empty(t, s.captured(), "the echo was given already")
}

func testRefused(t *testing.T, s *subject) {
	s.wait(s.Bench.Now() + 10*ms)
	start := s.Bench.Now() + 50*ms
	s.drive(true, start)
	edge := func(at signal.Time, line signal.Line, level bool) signal.Edge {
		return signal.Edge{At: at, Line: line, Level: level}
	}
	for _, c := range []struct {
		name  string
		until signal.Time
		edges []signal.Edge
	}{
		{"of the past", start + 2*ms, []signal.Edge{edge(start-60*ms, s.From, true)}},
		{"before the last call's until", start + 2*ms, []signal.Edge{edge(start-ms, s.From, true)}},
		{"out of order", start + 3*ms, []signal.Edge{edge(start+2*ms, s.From, true), edge(start+ms, s.From, false)}},
		{"later than until", start + ms, []signal.Edge{edge(start+2*ms, s.From, true)}},
		{"of a captured line", start + 2*ms, []signal.Edge{edge(start+ms, s.To, true)}},
		{"of no line", start + 2*ms, []signal.Edge{edge(start+ms, signal.Line(len(s.Bench.Layout().Lines)), true)}},
		{"until before the last call's", start - ms, nil},
	} {
		assert.Error(t, s.Bench.Drive(c.edges, c.until), c.name)
	}
	if s.Strict {
		assert.Error(t, s.Bench.Wait(start+ms), "it ended")
		return
	}
	s.drive(true, start+2*ms, start+ms)
	s.wait(start + ms + s.Delay)
	s.expect(true, s.captured(), start+ms)
}
