package record

import (
	"os"
	"path/filepath"
	"syscall"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// A pipe in the place of a file is refused, and not waited for.
func TestAPipeIsNotWaitedFor(t *testing.T) {
	folder := full(t)
	for _, name := range filesOf(t, folder) {
		path := filepath.Join(folder, name)
		require.NoError(t, os.Rename(path, path+".was"))
		require.NoError(t, syscall.Mkfifo(path, 0o600))
		notBelieved(t, folder, name)
		require.NoError(t, os.Remove(path))
		require.NoError(t, os.Rename(path+".was", path))
	}
	pipe := filepath.Join(t.TempDir(), "pipe")
	require.NoError(t, syscall.Mkfifo(pipe, 0o600))
	_, err := Read(pipe)
	assert.ErrorContains(t, err, "is no folder; name the folder of one run")
}
