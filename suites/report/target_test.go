package report

import (
	"errors"
	"io"
	"os"
	"path/filepath"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// inFolder lists what a folder holds.
func inFolder(t *testing.T, folder string) (names []string) {
	t.Helper()
	entries, err := os.ReadDir(folder)
	require.NoError(t, err)
	for _, e := range entries {
		names = append(names, e.Name())
	}
	return names
}

func TestFillReplacesAFileOnlyByAWholeOne(t *testing.T) {
	folder := t.TempDir()
	path := filepath.Join(folder, "a.vcd")
	require.NoError(t, os.WriteFile(path, []byte("mine"), 0o640))
	broken := errors.New("no space left")
	err := Fill(path, func(w io.Writer) error {
		_, err := io.WriteString(w, "half")
		return errors.Join(err, broken)
	})
	require.ErrorIs(t, err, broken)
	data, err := os.ReadFile(path)
	require.NoError(t, err)
	assert.Equal(t, "mine", string(data))
	assert.Equal(t, []string{"a.vcd"}, inFolder(t, folder))

	require.NoError(t, WriteFile(path, []byte("new")))
	data, err = os.ReadFile(path)
	require.NoError(t, err)
	assert.Equal(t, "new", string(data))
	info, err := os.Stat(path)
	require.NoError(t, err)
	assert.Equal(t, os.FileMode(0o640), info.Mode().Perm())
	assert.Equal(t, []string{"a.vcd"}, inFolder(t, folder))
}

func TestFillMakesAFileOrNone(t *testing.T) {
	folder := t.TempDir()
	require.Error(t, Fill(filepath.Join(folder, "a"), func(io.Writer) error { return errors.New("no") }))
	assert.Empty(t, inFolder(t, folder))
	require.NoError(t, WriteFile(filepath.Join(folder, "a"), []byte("x")))
	assert.Equal(t, []string{"a"}, inFolder(t, folder))
	require.Error(t, WriteFile(filepath.Join(folder, "none", "a"), nil))
	require.Error(t, WriteFile(folder, nil), "a folder")
	assert.Equal(t, []string{"a"}, inFolder(t, folder))
}

func TestFillFollowsALink(t *testing.T) {
	folder, other := t.TempDir(), t.TempDir()
	link, file := filepath.Join(folder, "link"), filepath.Join(other, "file")
	require.NoError(t, os.Symlink(file, link))
	assert.ErrorContains(t, WriteFile(link, nil), "is a link to a file that is not there; name the file itself")
	require.NoError(t, os.WriteFile(file, nil, 0o600))
	require.NoError(t, WriteFile(link, []byte("x")))
	data, err := os.ReadFile(file)
	require.NoError(t, err)
	assert.Equal(t, "x", string(data))
	info, err := os.Lstat(link)
	require.NoError(t, err)
	assert.Equal(t, os.ModeSymlink, info.Mode().Type())
}

// A place that cannot be written to is told by the name that was asked for.
func TestAPlaceThatCannotBeWrittenTo(t *testing.T) {
	path := filepath.Join(t.TempDir(), "nowhere", "c.svg")
	err := WriteFile(path, []byte("<svg/>"))
	require.ErrorContains(t, err, path+" cannot be written: ")
	require.ErrorContains(t, err, "; name a file in a folder that is there and can be written to")
	require.NotContains(t, err.Error(), ".part")
}
