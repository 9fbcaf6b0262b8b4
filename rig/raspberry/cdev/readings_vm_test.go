//go:build linux && gpiovm

package cdev

import (
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"golang.org/x/sys/unix"
)

func TestPlainLinesAreReadAndNotWatched(t *testing.T) {
	s := simulate(t, 4)
	s.pull(1, true)
	c := s.open()
	in, err := c.Plain("plain", []uint32{3, 1}, PullLeft)
	require.NoError(t, err)
	levels, err := in.Levels()
	require.NoError(t, err)
	assert.Equal(t, uint64(0b10), levels)
	s.pull(1, false)
	s.pull(3, true)
	levels, err = in.Levels()
	require.NoError(t, err)
	assert.Equal(t, uint64(0b01), levels)
	_, err = c.Plain("again", []uint32{1}, PullLeft)
	require.ErrorIs(t, err, unix.EBUSY)
	require.NoError(t, in.Close())

	up, err := c.Plain("up", []uint32{1}, PullUp)
	require.NoError(t, err)
	defer up.Close()
	levels, err = up.Levels()
	require.NoError(t, err)
	assert.Equal(t, uint64(1), levels)
	_, err = c.Plain("odd", []uint32{0}, 4)
	require.ErrorIs(t, err, unix.EINVAL)
}

func TestLinesAreReadAsTheyAre(t *testing.T) {
	s := simulate(t, 4)
	c := s.open()
	s.pull(2, true)
	in, err := c.AsTheyAre("as it is", []uint32{2})
	require.NoError(t, err)
	defer in.Close()
	levels, err := in.Levels()
	require.NoError(t, err)
	assert.Equal(t, uint64(1), levels)
	line, err := c.Line(2)
	require.NoError(t, err)
	assert.False(t, line.IsOutput)
	assert.True(t, line.Used)
}

func TestAwaitReportsThatAnEventWaits(t *testing.T) {
	s := simulate(t, 4)
	in, err := s.open().Inputs("await", []uint32{0, 1}, PullLeft, 0)
	require.NoError(t, err)
	defer in.Close()
	began := Now()
	require.NoError(t, in.Await(5*time.Millisecond))
	assert.GreaterOrEqual(t, Now()-began, int64(5*time.Millisecond), "none waits")
	s.pull(0, true)
	began = Now()
	require.NoError(t, in.Await(-1))
	require.NoError(t, in.Await(5*time.Millisecond))
	assert.Less(t, Now()-began, int64(5*time.Millisecond), "one waits, and goes on to wait")
}
