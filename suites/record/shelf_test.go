package record

import (
	"os"
	"path/filepath"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// shelved writes a record that began at a moment under home, and ends it or not.
func shelved(t *testing.T, home string, at time.Time, ends bool) string {
	t.Helper()
	r := sample()
	r.Label, r.Firmware = "split 2", "5f2c"
	w, err := Create(home, r, Host{}, at)
	require.NoError(t, err)
	for _, s := range r.spots() {
		require.NoError(t, w.Case(s.suite, s.index, r.Suites[s.suite].Cases[s.index]))
	}
	if ends {
		require.NoError(t, w.Finish(r, 1, 1))
	}
	require.NoError(t, w.Close())
	return w.Folder()
}

func TestRecordsAreListedOldestFirst(t *testing.T) {
	home := t.TempDir()
	late := shelved(t, home, began.Add(time.Hour), true)
	early := shelved(t, home, began, true)
	unended := shelved(t, home, began.Add(2*time.Hour), false)
	require.NoError(t, os.Mkdir(filepath.Join(home, "notes"), 0o700))
	require.NoError(t, os.MkdirAll(filepath.Join(home, "foreign"), 0o700))
	require.NoError(t, os.WriteFile(filepath.Join(home, "foreign", planName), []byte(`{"format":"shopping list"}`), 0o600))
	all, err := Entries(home)
	require.NoError(t, err)
	require.Len(t, all, 3)
	assert.Equal(t, []string{early, late, unended}, []string{all[0].Folder, all[1].Folder, all[2].Folder})
	assert.Equal(t, []string{"split 2", "5f2c", "bramble", "built-in", NoGo, ""},
		[]string{all[0].Label, all[0].Firmware, all[0].Car, all[0].Board, all[0].Outcome, all[0].Wrong})
	assert.Equal(t, []string{NotShown, DidNotEnd}, []string{all[2].Outcome, all[2].Wrong})
	assert.True(t, began.Equal(all[0].Began))
	assert.Greater(t, all[0].Bytes, int64(3000))

	newest, ok := Newest(all, func(e *Entry) bool { return e.Outcome == NoGo })
	assert.True(t, ok)
	assert.Equal(t, late, newest.Folder)
	_, ok = Newest(all, func(e *Entry) bool { return e.Outcome == Go })
	assert.False(t, ok)

	none, err := Entries(filepath.Join(home, "nowhere"))
	require.NoError(t, err)
	assert.Empty(t, none)
}

func TestOnlyWhatBelongsToARecordIsRemoved(t *testing.T) {
	home := t.TempDir()
	whole, own, running := shelved(t, home, began, true), shelved(t, home, began, true), shelved(t, home, began, false)
	notes := filepath.Join(own, "forms", "notes", "mine.txt")
	require.NoError(t, os.MkdirAll(filepath.Dir(notes), 0o700))
	require.NoError(t, os.WriteFile(notes, nil, 0o600))
	outside := filepath.Join(home, "outside")
	require.NoError(t, os.WriteFile(outside, []byte("kept"), 0o600))
	require.NoError(t, os.Symlink(outside, filepath.Join(own, "plan.json.link")))
	all, err := Entries(home)
	require.NoError(t, err)
	for _, e := range all {
		err := Remove(e, began.Add(23*time.Hour))
		switch e.Folder {
		case whole:
			require.NoError(t, err)
			assert.NoDirExists(t, whole)
		case own:
			require.ErrorContains(t, err, "no part of a record")
			assert.FileExists(t, notes)
			assert.NoFileExists(t, filepath.Join(own, planName))
		case running:
			require.ErrorIs(t, err, ErrUnderWay)
			assert.FileExists(t, filepath.Join(running, planName))
			require.NoError(t, Remove(e, began.Add(25*time.Hour)))
			assert.NoDirExists(t, running)
		}
	}
	assert.FileExists(t, outside)
}
