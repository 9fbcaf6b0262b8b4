package main

import (
	"io"
	"os"
	"path/filepath"
	"syscall"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// A device is written to and stays, whatever comes of it. The test makes no device: it takes
// away a link to one where the program would take away what it is given.
func TestFillLeavesADeviceWhereItIs(t *testing.T) {
	for _, device := range []string{"/dev/full", "/dev/null"} {
		link := filepath.Join(t.TempDir(), "device")
		require.NoError(t, os.Symlink(device, link))
		err := writeFile(link, []byte("x"))
		if device == "/dev/full" {
			require.ErrorIs(t, err, syscall.ENOSPC)
		} else {
			require.NoError(t, err)
		}
		info, err := os.Stat(link)
		require.NoError(t, err)
		assert.Equal(t, os.ModeDevice|os.ModeCharDevice, info.Mode().Type())
	}
}

// A pipe that nobody reads from is refused at once; one that is read from gets everything.
func TestFillDoesNotWaitForAReader(t *testing.T) {
	pipe := filepath.Join(t.TempDir(), "pipe")
	require.NoError(t, syscall.Mkfifo(pipe, 0o600))
	assert.EqualError(t, writeFile(pipe, nil), "nobody reads from the pipe "+pipe+"; start what reads it first, or name a file")
	reader, err := os.OpenFile(pipe, os.O_RDONLY|syscall.O_NONBLOCK, 0)
	require.NoError(t, err)
	defer reader.Close()
	require.NoError(t, writeFile(pipe, []byte("all")))
	got, err := io.ReadAll(reader)
	require.NoError(t, err)
	assert.Equal(t, "all", string(got))
	assert.FileExists(t, pipe)
}
