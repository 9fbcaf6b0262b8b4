package serialtest

import (
	"errors"
	"os"
	"strconv"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"golang.org/x/sys/unix"

	"hilrig/rig/signal"
)

// Far is the other end of a pseudo terminal: what a port's device sends arrives there.
type Far struct {
	*os.File
	Device string        // the path of the end that a port opens
	Data   []byte        // what has come
	At     []signal.Time // when each byte was here at the latest
}

// Terminal opens a pair of pseudo terminals.
func Terminal(t testing.TB) *Far {
	fd, err := unix.Open("/dev/ptmx", unix.O_RDWR|unix.O_NOCTTY|unix.O_NONBLOCK, 0)
	if errors.Is(err, unix.ENOENT) {
		t.Skip("no /dev/ptmx")
	}
	require.NoError(t, err)
	require.NoError(t, unix.IoctlSetPointerInt(fd, unix.TIOCSPTLCK, 0))
	n, err := unix.IoctlGetInt(fd, unix.TIOCGPTN)
	require.NoError(t, err)
	f := &Far{File: os.NewFile(uintptr(fd), "/dev/ptmx"), Device: "/dev/pts/" + strconv.Itoa(n)}
	t.Cleanup(func() { f.Close() })
	return f
}

// Hear reads until n bytes are there.
func (f *Far) Hear(t testing.TB, n int, now func() signal.Time) {
	t.Helper()
	buffer := make([]byte, 1<<12)
	require.NoError(t, f.SetReadDeadline(time.Now().Add(10*time.Second)))
	for len(f.Data) < n {
		got, err := f.Read(buffer)
		require.NoError(t, err, "%d of %d bytes", len(f.Data), n)
		f.Data = append(f.Data, buffer[:got]...)
		for range got {
			f.At = append(f.At, now())
		}
	}
}

// Silence checks that nothing comes for a while.
func (f *Far) Silence(t testing.TB, length time.Duration) {
	t.Helper()
	require.NoError(t, f.SetReadDeadline(time.Now().Add(length)))
	n, err := f.Read(make([]byte, 1<<12))
	assert.ErrorIs(t, err, os.ErrDeadlineExceeded, "%d bytes came", n)
}
