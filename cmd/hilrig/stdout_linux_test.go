package main

import (
	"errors"
	"os"
	"os/exec"
	"path/filepath"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"hilrig/suites/record"
)

// Whoever reads the output may stop: no signal ends the run, its outcome stands and its
// record is whole.
func TestARunOutlivesItsReader(t *testing.T) {
	suite, home := filepath.Join(t.TempDir(), "own.yaml"), t.TempDir()
	require.NoError(t, os.WriteFile(suite, []byte(ownSuite), 0o600))
	reader, writer, err := os.Pipe()
	require.NoError(t, err)
	require.NoError(t, reader.Close())
	defer writer.Close()
	program, err := os.Executable()
	require.NoError(t, err)
	hilrig := exec.Cmd{Path: program, Args: []string{"hilrig", "run", suite, "--board", "null:silent", "--record", home}, Stdout: writer}
	err = hilrig.Run()
	var ended *exec.ExitError
	require.True(t, errors.As(err, &ended), "%v", err)
	assert.Equal(t, exitNoGo, ended.ExitCode(), ended)
	all, err := record.List(home)
	require.NoError(t, err)
	require.Len(t, all, 1)
	kept, err := record.Read(all[0])
	require.NoError(t, err)
	assert.Empty(t, kept.Wrong())
}
