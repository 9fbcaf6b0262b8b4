package main

import (
	"os"
	"os/exec"
	"path/filepath"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"hilrig/rig/raspberry/claim"
)

// locksKey is the variable that has a program of these tests keep the lock on the pins in
// this folder, so that what else runs on the machine is not kept from them.
const locksKey = "HILRIG_TEST_LOCKS"

func init() {
	if folder := os.Getenv(locksKey); folder != "" {
		claim.Folders = []string{folder}
	}
}

// Pins are claimed before the first of them is driven, or a person is asked to lay a jumper.
func TestASecondProgramOnThePinsIsDenied(t *testing.T) {
	folder := t.TempDir()
	old := claim.Folders
	t.Cleanup(func() { claim.Folders = old })
	claim.Folders = []string{folder}
	lines, err := claim.Pins()
	require.NoError(t, err)
	program, err := os.Executable()
	require.NoError(t, err)
	timing := func() string {
		c := &exec.Cmd{
			Path: program, Args: []string{"hilrig", "timing", "--chip", filepath.Join(folder, "no-chip"), "--jumper", "17,22"},
			Env: append(os.Environ(), locksKey+"="+folder),
		}
		said, err := c.CombinedOutput()
		require.Error(t, err)
		assert.Equal(t, exitNotShown, c.ProcessState.ExitCode())
		return string(said)
	}
	assert.Regexp(t, `the pins of this machine: in use by .* \(process \d+, since .*\); wait until that has ended, or end it`, timing())
	require.NoError(t, lines.Release())
	assert.Contains(t, timing(), "not confirmed; no pin was touched")
}
