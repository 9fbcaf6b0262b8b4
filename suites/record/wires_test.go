package record

import (
	"io"
	"io/fs"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

func TestWiresOfACaseComeBack(t *testing.T) {
	w, err := Create(t.TempDir(), sample(), Host{}, began)
	require.NoError(t, err)
	text := strings.Repeat("#1\n1!\n#2\n0!\n", 1000)
	assert.False(t, HasWires(w.Folder(), 0, 1))
	require.NoError(t, w.Wires(0, 1, func(out io.Writer) error {
		_, err := io.WriteString(out, text)
		return err
	}))
	require.ErrorIs(t, w.Wires(0, 0, func(io.Writer) error { return io.ErrShortWrite }), io.ErrShortWrite)
	assert.True(t, HasWires(w.Folder(), 0, 1))
	assert.False(t, HasWires(w.Folder(), 0, 0), "half a file is none")
	var got strings.Builder
	require.NoError(t, Wires(w.Folder(), 0, 1, &got))
	assert.Equal(t, text, got.String())
	assert.ErrorIs(t, Wires(w.Folder(), 1, 0, &got), fs.ErrNotExist)
	path := filepath.Join(w.Folder(), wiresOf(0, 1))
	packed, err := os.ReadFile(path)
	require.NoError(t, err)
	assert.Less(t, len(packed), len(text)/10)
	require.NoError(t, os.WriteFile(path, packed[:len(packed)/2], 0o600))
	assert.ErrorContains(t, Wires(w.Folder(), 0, 1, &got), "0-1.vcd.gz")
}
