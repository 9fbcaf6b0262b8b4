package main

import (
	"io"
	"path/filepath"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"hilrig/suites"
	"hilrig/suites/record"
)

func TestARecordTakesNoMoreRoomThanIsSaid(t *testing.T) {
	home := t.TempDir()
	require.Equal(t, exitGo, run(t.Context(), []string{"run", "split", "--record", home, "--board", "built-in"}, io.Discard, io.Discard))
	all, err := record.Entries(home)
	require.NoError(t, err)
	require.Len(t, all, 1)
	inputs, err := record.Inputs(all[0].Folder)
	require.NoError(t, err)
	r, err := record.Read(all[0].Folder)
	require.NoError(t, err)
	setup, err := suites.Load(suites.FilesOf(r.Result, inputs))
	require.NoError(t, err)
	room := setup.RecordRoom(suites.Options{})
	assert.Greater(t, room, all[0].Bytes)
	assert.Less(t, room, 10*all[0].Bytes)
	require.NoError(t, hasRoom(noRecord, 1<<60))
	require.NoError(t, hasRoom(home, room))
	require.ErrorContains(t, hasRoom(filepath.Join(home, "more"), 1<<60), "; --record DIR keeps it elsewhere, --record none keeps nothing")
	assert.NoDirExists(t, filepath.Join(home, "more"))
}
