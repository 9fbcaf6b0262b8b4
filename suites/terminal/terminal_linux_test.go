package terminal_test

import (
	"os"
	"strconv"
	"strings"
	"syscall"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"golang.org/x/sys/unix"

	"hilrig/suites/terminal"
)

// opened returns a terminal of that size: the end at which a person sits, and the program's.
func opened(t *testing.T, columns, rows uint16) (person, program *os.File) {
	t.Helper()
	person, err := os.OpenFile("/dev/ptmx", os.O_RDWR|syscall.O_NOCTTY, 0)
	require.NoError(t, err)
	require.NoError(t, unix.IoctlSetPointerInt(int(person.Fd()), unix.TIOCSPTLCK, 0))
	n, err := unix.IoctlGetInt(int(person.Fd()), unix.TIOCGPTN)
	require.NoError(t, err)
	program, err = os.OpenFile("/dev/pts/"+strconv.Itoa(n), os.O_RDWR|syscall.O_NOCTTY, 0)
	require.NoError(t, err)
	require.NoError(t, unix.IoctlSetWinsize(int(program.Fd()), unix.TIOCSWINSZ, &unix.Winsize{Col: columns, Row: rows}))
	return person, program
}

// read returns what a person sees of what was written just now.
func read(t *testing.T, person *os.File) string {
	t.Helper()
	b := make([]byte, 4096)
	n, err := person.Read(b)
	require.NoError(t, err)
	return strings.ReplaceAll(string(b[:n]), "\r\n", "\n")
}

func TestATerminalSaysHowWideItIs(t *testing.T) {
	t.Setenv("TERM", "xterm")
	t.Setenv("NO_COLOR", "")
	person, program := opened(t, 20, 30)
	s := terminal.On(program)
	assert.Equal(t, 60, s.TwoScreens())
	assert.True(t, s.Colour)
	_, err := s.Write([]byte("a line of many words that goes on\n"))
	require.NoError(t, err)
	assert.Equal(t, "a line of many\n    words that goes\n    on\n", read(t, person))
	require.NoError(t, s.JSON("a line of many words that goes on"))
	assert.Equal(t, "\"a line of many words that goes on\"\n", read(t, person), "what programs read too is not broken")
	t.Setenv("NO_COLOR", "1")
	assert.False(t, terminal.On(program).Colour)
}

func TestProgressOnATerminalIsOneLine(t *testing.T) {
	person, program := opened(t, 10, 30)
	p := terminal.ProgressOn(program, false)
	p.Show("1 of 3, a long line")
	assert.Equal(t, "\r\x1b[K1 of 3, a", read(t, person))
	p.Show("2 of 3, a moment later")
	p.Wipe()
	assert.Equal(t, "\r\x1b[K", read(t, person))
}
