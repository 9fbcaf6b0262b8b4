package main

import (
	"os"
	"strconv"
	"syscall"
	"testing"

	"github.com/stretchr/testify/require"
	"golang.org/x/sys/unix"
)

// openTerminal opens a terminal: the end at which a person sits, and the program's.
func openTerminal(t *testing.T) (person, program *os.File) {
	t.Helper()
	person, err := os.OpenFile("/dev/ptmx", os.O_RDWR|syscall.O_NOCTTY, 0)
	require.NoError(t, err)
	require.NoError(t, unix.IoctlSetPointerInt(int(person.Fd()), unix.TIOCSPTLCK, 0))
	n, err := unix.IoctlGetInt(int(person.Fd()), unix.TIOCGPTN)
	require.NoError(t, err)
	program, err = os.OpenFile("/dev/pts/"+strconv.Itoa(n), os.O_RDWR|syscall.O_NOCTTY, 0)
	require.NoError(t, err)
	return person, program
}
