package report

import (
	"errors"
	"io"
	"os"
	"path/filepath"
	"syscall"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// What is no regular file is written to and stays, whatever comes of it. A pipe stands for
// devices here: those of the machine are not put at stake.
func TestFillLeavesWhatIsNoFileWhereItIs(t *testing.T) {
	pipe := filepath.Join(t.TempDir(), "pipe")
	require.NoError(t, syscall.Mkfifo(pipe, 0o600))
	reader, err := os.OpenFile(pipe, os.O_RDONLY|syscall.O_NONBLOCK, 0)
	require.NoError(t, err)
	defer reader.Close()
	err = Fill(pipe, func(w io.Writer) error {
		_, err := io.WriteString(w, "half")
		return errors.Join(err, syscall.ENOSPC)
	})
	require.ErrorIs(t, err, syscall.ENOSPC)
	info, err := os.Stat(pipe)
	require.NoError(t, err)
	assert.Equal(t, os.ModeNamedPipe, info.Mode().Type())
	assert.Equal(t, []string{"pipe"}, inFolder(t, filepath.Dir(pipe)))
}

// A pipe that nobody reads from is refused at once; one that is read from gets everything.
func TestFillDoesNotWaitForAReader(t *testing.T) {
	pipe := filepath.Join(t.TempDir(), "pipe")
	require.NoError(t, syscall.Mkfifo(pipe, 0o600))
	assert.EqualError(t, WriteFile(pipe, nil), "nobody reads from the pipe "+pipe+"; start what reads it first, or name a file")
	reader, err := os.OpenFile(pipe, os.O_RDONLY|syscall.O_NONBLOCK, 0)
	require.NoError(t, err)
	defer reader.Close()
	require.NoError(t, WriteFile(pipe, []byte("all")))
	got, err := io.ReadAll(reader)
	require.NoError(t, err)
	assert.Equal(t, "all", string(got))
	assert.FileExists(t, pipe)
}
