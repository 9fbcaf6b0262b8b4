package main

import (
	"bytes"
	"os"
	"os/exec"
	"syscall"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// startFaults starts a campaign and waits until it plays: it says how far it is on a terminal.
func startFaults(t *testing.T, stdout *os.File) (hilrig *exec.Cmd, ended chan struct{}) {
	person, terminal := openTerminal(t)
	defer terminal.Close()
	t.Cleanup(func() { person.Close() })
	program, err := os.Executable()
	require.NoError(t, err)
	hilrig = &exec.Cmd{Path: program, Args: []string{"hilrig", "faults", "split"}, Stdout: stdout, Stderr: terminal}
	require.NoError(t, hilrig.Start())
	ended = make(chan struct{})
	go func() {
		_ = hilrig.Wait() // its state says how it ended
		close(ended)
	}()
	t.Cleanup(func() {
		_ = hilrig.Process.Kill() // it has ended: well
		<-ended
	})
	_, err = person.Read(make([]byte, 1))
	require.NoError(t, err)
	go func() { _, _ = bytes.NewBuffer(nil).ReadFrom(person) }() // or it would wait for the terminal
	return hilrig, ended
}

// What asks a program to end, as an operating system does at its shutdown, has it say what it found so far.
func TestACampaignThatIsAskedToEndTellsWhatItFound(t *testing.T) {
	out, err := os.CreateTemp(t.TempDir(), "out")
	require.NoError(t, err)
	defer out.Close()
	hilrig, ended := startFaults(t, out)
	require.NoError(t, hilrig.Process.Signal(syscall.SIGTERM))
	<-ended
	assert.Contains(t, []int{exitNotShown, exitNoGo}, hilrig.ProcessState.ExitCode(), hilrig.ProcessState)
	said, err := os.ReadFile(out.Name())
	require.NoError(t, err)
	assert.Regexp(t, `(?m)^interrupted after \d+ of \d+ faults; `, string(said))
	assert.Contains(t, string(said), "the run was stopped")
}

// The second Ctrl-C ends it at once, be it that nobody takes what it has to say.
func TestTheSecondCtrlCEndsACampaignAtOnce(t *testing.T) {
	reader, full, err := os.Pipe()
	require.NoError(t, err)
	defer reader.Close()
	defer full.Close()
	require.NoError(t, full.SetWriteDeadline(time.Now().Add(100*time.Millisecond)))
	_, err = full.Write(make([]byte, 1<<22))
	require.ErrorIs(t, err, os.ErrDeadlineExceeded, "a pipe holds less than that")
	hilrig, ended := startFaults(t, full)
	for end := time.Now().Add(25 * time.Second); time.Now().Before(end); {
		_ = hilrig.Process.Signal(os.Interrupt) // it has ended: well
		select {
		case <-ended:
			status, ok := hilrig.ProcessState.Sys().(syscall.WaitStatus)
			require.True(t, ok)
			assert.Equal(t, os.Interrupt, status.Signal(), hilrig.ProcessState)
			return
		case <-time.After(200 * time.Millisecond):
		}
	}
	assert.Fail(t, "it did not end")
}
