package record

import (
	"io"
	"os"
	"path/filepath"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// unwritable puts a file that takes nothing in the place of cases.jsonl.
func unwritable(t *testing.T, w *Writer) *os.File {
	t.Helper()
	good := w.cases
	bad, err := os.Open(filepath.Join(w.folder, casesName))
	require.NoError(t, err)
	w.cases = bad
	return good
}

// Where something cannot be written, it is told, the rest is kept, and nothing that is
// kept is questioned later.
func TestWhatCannotBeWrittenIsReportedAndTheRestIsWritten(t *testing.T) {
	r := clean()
	w := written(t, r, []int{0})
	good := unwritable(t, w)
	require.Error(t, keep(w, r, 1))
	require.Error(t, keep(w, r, 2))
	require.NoError(t, w.cases.Close())
	w.cases = good
	require.NoError(t, keep(w, r, 3), "there is room again")
	require.NoError(t, os.WriteFile(filepath.Join(w.folder, wiresName), nil, 0o600))
	require.Error(t, w.Wires(0, 1, func(out io.Writer) error { return nil }))
	require.NoError(t, os.Remove(filepath.Join(w.folder, wiresName)))
	require.ErrorContains(t, w.Finish(r, 1, 2), "lacks wires/0-1.vcd.gz, 2 lines of cases.jsonl: record: case ")
	want := []string{"wires/0-1.vcd.gz", "2 lines of cases.jsonl"}
	assert.Equal(t, want, w.Missing())
	got, err := Read(w.Folder())
	require.NoError(t, err)
	assert.Empty(t, got.Wrong(), "the result is whole")
	assert.Equal(t, Go, got.Result.Outcome)
	assert.Equal(t, want, got.Host.Missing)
}

// Without its result a record is that of a run which did not end.
func TestResultThatCannotBeWritten(t *testing.T) {
	r := clean()
	w := written(t, r, []int{0, 1, 2, 3, 4})
	block := filepath.Join(w.folder, resultName, "in the way")
	require.NoError(t, os.MkdirAll(block, 0o700))
	require.Error(t, w.Finish(r, 1, 2))
	assert.Equal(t, []string{resultName}, w.Missing())
	require.NoError(t, os.RemoveAll(filepath.Dir(block)))
	left, err := filepath.Glob(filepath.Join(w.Folder(), "*.part"))
	require.NoError(t, err)
	assert.Empty(t, left, "what is no use takes no room")
	got, err := Read(w.Folder())
	require.NoError(t, err)
	assert.Equal(t, []string{DidNotEnd}, got.Wrong())
	assert.Equal(t, NotShown, got.Result.Outcome)
	assert.Equal(t, 2.0, got.Host.DrivingS)
}

// A record that cannot be begun leaves no folder behind.
func TestDiscardedRecordIsGone(t *testing.T) {
	w := written(t, clean(), []int{0})
	w.Discard()
	assert.NoDirExists(t, w.Folder())
}
