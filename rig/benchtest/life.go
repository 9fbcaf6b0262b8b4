package benchtest

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"hilrig/rig"
)

func testSafe(t *testing.T, s *subject) {
	at := s.Bench.Now() + 20*ms
	s.drive(true, at+ms, at)
	require.NoError(t, s.Bench.Safe())
	require.NoError(t, s.Bench.Safe(), "it may be called again")
	s.wait(at + ms + s.Delay)
	assert.Empty(t, s.captured(), "the edge was dropped")

	again := s.Bench.Now() + 20*ms
	s.drive(true, again+ms, again)
	s.wait(again + s.Delay)
	s.expect(true, s.captured(), again)
}

func testSafeIdle(_ *testing.T, s *subject) {
	at := s.Bench.Now() + 10*ms
	s.drive(true, at+50*ms+s.Delay, at, at+50*ms+s.Delay)
	s.wait(at + s.Delay)
	s.expect(true, s.captured(), at)
	before := s.Bench.Now()
	require.NoError(s.t, s.Bench.Safe())
	s.wait(s.Bench.Now() + 100*ms + 2*s.Delay)
	echo := s.captured()
	require.Len(s.t, echo, 1, "to idle, and not a second time")
	assert.False(s.t, echo[0].Level)
	assert.GreaterOrEqual(s.t, echo[0].At, before)

	again := s.Bench.Now() + 10*ms
	s.drive(true, again+ms, again)
	s.wait(again + s.Delay)
	s.expect(true, s.captured(), again)
}

func testSafeSend(t *testing.T, s *subject) {
	_, err := s.Bench.Send(s.Port, s.Bench.Now()+10*ms, make([]byte, 1000))
	require.NoError(t, err)
	s.wait(s.Bench.Now() + 10*ms + s.length(1)/3)
	require.NoError(t, s.Bench.Safe())
	at := s.Bench.Now() + s.length(1000)/2
	end, err := s.Bench.Send(s.Port, at, []byte{1})
	require.NoError(t, err)
	assert.InDelta(t, int64(at+s.length(1)), int64(end), 2, "the bytes before were dropped")
	s.wait(end)
}

func testRestart(t *testing.T, s *subject) {
	at := s.Bench.Now() + 10*ms
	s.drive(true, at+ms, at)
	s.wait(at + s.Delay)
	s.captured()
	before := s.Bench.Now()
	err := s.Bench.Restart()
	assert.GreaterOrEqual(t, s.Bench.Now(), before, "time goes on")
	if !s.CanRestart {
		require.ErrorIs(t, err, rig.ErrNotPossible)
		return
	}
	require.NoError(t, err)
	s.wait(s.Bench.Now() + 10*ms)
	s.captured() // the board's outputs went to idle

	again := s.Bench.Now() + 10*ms
	s.drive(false, again+21*ms+s.Delay, again, again+10*ms+s.Delay)
	s.wait(again + 10*ms + 2*s.Delay)
	echo := s.captured()
	require.NotEmpty(t, echo)
	assert.True(t, echo[len(echo)-1].Level, "the board answers again")
}
