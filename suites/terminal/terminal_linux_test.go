package terminal_test

import (
	"bytes"
	"os"
	"strconv"
	"strings"
	"syscall"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"golang.org/x/sys/unix"

	"hilrig/rig/signal"
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

// A line for each motor moves while something is held, and is gone when it ends.
func TestMotorsMoveOnATerminal(t *testing.T) {
	person, program := opened(t, 60, 30)
	m := terminal.MotorsOn(program, false)
	m.Show(0, [4]float64{0.25, 1, -0.5, 0})
	first := read(t, person)
	assert.Contains(t, first, "front_left    25.0 %  █████···············  ")
	assert.Contains(t, first, "front_right  100.0 %  ████████████████████  ")
	assert.Contains(t, first, "rear_left    -50.0 %  ██████████··········  ")
	assert.Equal(t, 4, strings.Count(first, "\n"))
	m.Show(signal.Millisecond, [4]float64{0.5, 1, -0.5, 0})
	for next := ""; !strings.Contains(next, "front_left    50.0 %"); {
		next = read(t, person)
		assert.True(t, strings.HasPrefix(next, "\x1b[4A\r"), "over the lines before: %q", next)
	}
	m.End()
	last := read(t, person)
	assert.True(t, strings.HasSuffix(last, "\x1b[4A\x1b[J"), "%q", last)
	terminal.MotorsOn(new(bytes.Buffer), false).End()
	assert.Nil(t, terminal.MotorsOn(new(bytes.Buffer), true), "nobody watches")
}

// Virtual time is held back, so that there is something to watch.
func TestMotorsInVirtualTimeKeepPace(t *testing.T) {
	_, program := opened(t, 60, 30)
	m := terminal.MotorsOn(program, true)
	defer m.End()
	began := time.Now()
	m.Show(signal.Second, [4]float64{})
	m.Show(signal.Second+60*signal.Millisecond, [4]float64{})
	assert.GreaterOrEqual(t, time.Since(began), 60*time.Millisecond)
}
