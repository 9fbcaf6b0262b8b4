//go:build linux && gpiovm

package chardev

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"golang.org/x/sys/unix"

	"hilrig/rig/raspberry/hostlines"
)

func TestCharLinesAreTakenOneByOne(t *testing.T) {
	s := simulate(t, 8)
	l, err := OpenLines(s.device)
	require.NoError(t, err)
	defer l.Close()

	require.NoError(t, l.Output(3, true))
	assert.True(t, s.level(3))
	high, err := l.Read(3)
	require.NoError(t, err)
	assert.True(t, high)
	require.NoError(t, l.Write(3, false))
	assert.False(t, s.level(3), "it is an output still, after it was read")
	require.NoError(t, l.Output(3, true))
	assert.True(t, s.level(3))

	s.pull(5, true)
	high, err = l.Read(5)
	require.NoError(t, err)
	assert.True(t, high, "a line that nobody made anything of")
	require.Error(t, l.Write(5, false), "it is no output")
	require.NoError(t, l.Input(5, hostlines.PullDown))
	high, err = l.Read(5)
	require.NoError(t, err)
	assert.False(t, high, "the chip's own pull")
	require.NoError(t, l.Input(5, hostlines.PullUp))
	high, err = l.Read(5)
	require.NoError(t, err)
	assert.True(t, high)

	require.NoError(t, l.Output(5, false))
	assert.False(t, s.level(5), "an input becomes an output")
	require.NoError(t, l.Input(3, hostlines.PullDown))
	high, err = l.Read(3)
	require.NoError(t, err)
	assert.False(t, high, "an output becomes an input")

	for _, line := range []int{-1, 8} {
		require.ErrorContains(t, l.Output(line, true), "lines 0 to 7")
	}
	require.ErrorContains(t, l.Input(5, 3), "pull 3")
}

func TestCharLinesInUseAreDenied(t *testing.T) {
	s := simulate(t, 8)
	first, err := OpenLines(s.device)
	require.NoError(t, err)
	require.NoError(t, first.Output(2, true))
	second, err := OpenLines(s.device)
	require.NoError(t, err)
	defer second.Close()

	require.ErrorIs(t, second.Output(2, false), unix.EBUSY)
	require.ErrorIs(t, second.Input(2, hostlines.PullDown), unix.EBUSY)
	_, err = second.Read(2)
	require.ErrorIs(t, err, unix.EBUSY)
	assert.True(t, s.level(2), "whoever has it keeps it, at its level")

	require.NoError(t, first.Close())
	require.NoError(t, first.Close())
	require.NoError(t, second.Output(2, false))
	_, err = first.Read(2)
	require.Error(t, err)
}
