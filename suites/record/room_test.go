package record

import (
	"path/filepath"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"golang.org/x/sys/unix"
)

func TestARecordNeedsRoom(t *testing.T) {
	home := t.TempDir()
	var s unix.Statfs_t
	require.NoError(t, unix.Statfs(home, &s))
	free, err := Free(filepath.Join(home, "not", "there", "yet"))
	require.NoError(t, err)
	assert.InEpsilon(t, float64(s.Bavail)*float64(s.Bsize), float64(free), 0.1)

	require.NoError(t, Room(home, 0))
	require.NoError(t, Room(filepath.Join(home, "records"), free/2))
	require.ErrorContains(t, Room(home, 1<<60), "the record may take 1152921504607 MB, and "+home+" has ")
	assert.Error(t, Room(home, free), "other programs write too")
	assert.Equal(t, []string{"0 MB", "1 MB", "2 MB"}, []string{Megabytes(0), Megabytes(1), Megabytes(1_000_001)})
}
