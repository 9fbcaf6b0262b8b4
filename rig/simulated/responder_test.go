package simulated_test

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"hilrig/rig/signal"
	"hilrig/rig/simulated"
)

// follower answers each edge that the board puts on out with one on other.
type follower struct{ wrong bool }

func (f follower) Respond(e signal.Edge, dst []signal.Edge) []signal.Edge {
	line := lineOther
	if f.wrong {
		line = lineCopy
	}
	return append(dst, signal.Edge{At: e.At + 100, Line: line, Level: e.Level})
}

func TestResponderAnswersWithinAMicrosecond(t *testing.T) {
	e := newEcho()
	e.seen = []signal.Edge{}
	b := open(t, e, simulated.Settings{Responders: []simulated.Responding{{Responder: follower{}, Lines: []signal.Line{lineOut}}}})
	require.NoError(t, b.Drive(pulse(10*us, 5*us), ms))
	require.NoError(t, b.Wait(ms))
	require.Len(t, e.seen, 4)
	for i, out := range []signal.Time{10*us + 700, 15*us + 700} {
		answer := e.seen[2*i+1]
		assert.Equal(t, lineOther, answer.Line)
		assert.Equal(t, i == 0, answer.Level)
		assert.GreaterOrEqual(t, answer.At, out+100)
		assert.LessOrEqual(t, answer.At, out+us)
	}
}

func TestResponderOnAForeignLineIsAnError(t *testing.T) {
	b := open(t, newEcho(), simulated.Settings{Responders: []simulated.Responding{{Responder: follower{wrong: true}, Lines: []signal.Line{lineOut}}}})
	require.NoError(t, b.Drive(pulse(10*us, 5*us), ms))
	assert.ErrorContains(t, b.Wait(ms), "no line that it may drive")
}
