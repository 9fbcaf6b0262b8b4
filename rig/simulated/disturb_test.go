package simulated_test

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"hilrig/rig/signal"
	"hilrig/rig/simulated"
)

// later plays each edge a span later.
type later struct {
	by      signal.Time
	pending []signal.Edge
	level   bool
}

func (l *later) Pass(dst, edges []signal.Edge, _, to signal.Time) []signal.Edge {
	for _, e := range edges {
		e.At += l.by
		l.pending = append(l.pending, e)
	}
	for len(l.pending) > 0 && l.pending[0].At < to {
		dst = append(dst, l.pending[0])
		l.level = l.pending[0].Level
		l.pending = l.pending[1:]
	}
	return dst
}

func (l *later) Drop() bool {
	level := l.level
	l.pending, l.level = nil, true
	return level
}

func TestAPortCanBeDisturbed(t *testing.T) {
	e := newEcho()
	e.seen = []signal.Edge{}
	b := open(t, e, simulated.Settings{})
	require.NoError(t, b.Disturb(0, &later{by: 30 * us, level: true}))
	assert.ErrorContains(t, b.Disturb(7, &later{}), "port 7")
	_, err := b.Send(0, 10*us, []byte{0x00})
	require.NoError(t, err)
	require.NoError(t, b.Wait(60*us))
	require.Len(t, e.seen, 1, "the start bit, and then nine low bits")
	assert.Equal(t, 40*us, e.seen[0].At)
	require.NoError(t, b.Safe())
	require.NoError(t, b.Wait(ms))
	require.Len(t, e.seen, 2, "it comes to rest at once, and what was to come is dropped")
	assert.Equal(t, signal.Edge{At: 60 * us, Line: lineSerial, Level: true}, e.seen[1])
}
