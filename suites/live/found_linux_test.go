package live

import (
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"syscall"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"hilrig/rig/raspberry/claim"
	"hilrig/rig/raspberry/hostlines"
	"hilrig/rig/raspberry/registers"
	"hilrig/rig/raspberry/supervisor"
)

// Who has the lines and is stopped cannot make them safe; who has them and is not, does.
func TestLinesBehindAStoppedProgramAreMadeSafe(t *testing.T) {
	folder := t.TempDir()
	state := filepath.Join(folder, "hilrig")
	path := filepath.Join(folder, "bank")
	bank, err := registers.OpenMemoryFile(path)
	require.NoError(t, err)
	parts := func() (supervisor.Parts, error) {
		return supervisor.Parts{
			Pins: supervisor.Pins{Stop: 17, Relay: 22, Heartbeat: 27}, Safe: []supervisor.Level{{GPIO: 9}, {GPIO: 10, High: true}},
			Open: func() (hostlines.Lines, error) { return registers.OpenMemoryFile(path) },
		}, nil
	}
	other := exec.Command("sleep", "60")
	require.NoError(t, other.Start())
	defer func() {
		_ = other.Process.Kill()
		_ = other.Wait() // it was killed
	}()
	denied := fmt.Errorf("the bank: %w", &claim.InUse{Process: other.Process.Pid})

	const left = 1<<22 | 1<<27 | 1<<9
	bank.Set(left)
	none, err := BehindStopped(denied, state, parts)
	require.Equal(t, denied, err)
	assert.Empty(t, none)
	assert.Equal(t, uint32(left), bank.Level(), "it runs, and sees to its lines itself")
	_, err = BehindStopped(os.ErrPermission, state, parts)
	require.Equal(t, os.ErrPermission, err)

	require.NoError(t, other.Process.Signal(syscall.SIGSTOP))
	for !standsStill(other.Process.Pid) {
		time.Sleep(time.Millisecond)
	}
	said, err := BehindStopped(denied, state, parts)
	require.ErrorIs(t, err, denied)
	require.ErrorContains(t, err, fmt.Sprintf("it is stopped; kill -CONT %d has it end", other.Process.Pid))
	assert.Equal(t, uint32(1<<10), bank.Level())
	const found = "an earlier run had left lines high, and they were made safe: relay on GPIO22, heartbeat on GPIO27, GPIO9"
	assert.Equal(t, found, said)
	assert.Equal(t, found, Unrecorded(state), "for the record of a run to come")

	bank.Set(1 << 27)
	_, err = BehindStopped(denied, state, parts)
	require.ErrorIs(t, err, denied)
	assert.Equal(t, found+"; an earlier run had left lines high, and they were made safe: heartbeat on GPIO27", Unrecorded(state))
	require.NoError(t, Recorded(state))
	assert.Empty(t, Unrecorded(state))
	require.NoError(t, Recorded(state), "there is nothing to forget")
}
