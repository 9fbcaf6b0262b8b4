package main

import (
	"bytes"
	"os"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"golang.org/x/sys/unix"
)

// On a disk that is too small for the record nothing is played, and nothing is left behind.
func TestARunIsRefusedWhereItsRecordHasNoRoom(t *testing.T) {
	home := t.TempDir()
	if err := unix.Mount("tmpfs", home, "tmpfs", 0, "size=1m"); err != nil {
		t.Skip("needs root, to make a small disk: ", err)
	}
	defer func() { require.NoError(t, unix.Unmount(home, 0)) }()
	var out, said bytes.Buffer
	assert.Equal(t, exitWrong, run(t.Context(), []string{"run", "split", "--record", home}, &out, &said))
	assert.Empty(t, out.String())
	assert.Regexp(t, `^hilrig: the record may take \d+ MB, and .* has 2 MB left; make room \(hilrig records lists what is kept\); --record DIR keeps it elsewhere, --record none keeps nothing\n$`, said.String())
	left, err := os.ReadDir(home)
	require.NoError(t, err)
	assert.Empty(t, left)
}
