package suites

import (
	"path/filepath"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"hilrig/suites/demo"
	"hilrig/suites/language"
	"hilrig/suites/record"
)

// A record may come from anybody.
func TestAWordOfARecordStartsNoProgram(t *testing.T) {
	left := filepath.Join(t.TempDir(), "left")
	r := &record.Result{Board: record.Source{Name: "command:touch " + left}}
	s, err := Load(FilesOf(r, []record.Input{
		{Role: record.CarInput, Path: demo.CarPath, Data: demo.CarYAML}, {Role: record.BenchInput, Path: demo.BenchPath, Data: demo.BenchYAML},
	}))
	require.NoError(t, err, "it can be compared")
	_, err = s.board(s, "split")
	assert.ErrorContains(t, err, "give it again with --board-command")
	assert.NoFileExists(t, left)
}

func TestACommandIsHeldBeforeAnythingIsPlayed(t *testing.T) {
	for _, test := range []struct {
		command BoardCommand
		says    string
	}{
		{BoardCommand{Text: `./board "x`}, `board command "./board \"x": a double quote is not closed`},
		{BoardCommand{Text: "./board", Fault: new("no_cap")}, `has no place for a fault; write {fault}`},
		{BoardCommand{Text: "./board {fault}"}, `has {fault}, for which nothing stands here; write the fault itself, or`},
		{BoardCommand{Text: "./there-is-no-such-board {seed}"}, "cannot be started"},
	} {
		_, err := Load(Files{
			Car: language.Source{Path: demo.CarPath, Data: demo.CarYAML}, Bench: language.Source{Path: demo.BenchPath, Data: demo.BenchYAML},
			Command: &test.command,
		})
		assert.ErrorContains(t, err, test.says)
	}
}
