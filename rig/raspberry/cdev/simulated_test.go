//go:build linux && gpiovm

package cdev

import (
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"
	"golang.org/x/sys/unix"
)

// simulated is a chip of the kernel's gpio-sim: Linux,
// Documentation/admin-guide/gpio/gpio-sim.rst.
type simulated struct {
	t       testing.TB
	device  string // /dev/gpiochipN
	folder  string // /sys/devices/platform/...
	pulling map[uint32]int
}

// simulate makes a chip of so many lines, all pulled low, and takes it away at
// the end of the test.
func simulate(t testing.TB, lines int) *simulated {
	t.Helper()
	config := filepath.Join("/sys/kernel/config/gpio-sim", strings.Map(func(r rune) rune {
		if r == '/' {
			return '-'
		}
		return r
	}, t.Name()))
	bank := filepath.Join(config, "bank")
	require.NoError(t, os.Mkdir(config, 0o755))
	require.NoError(t, os.Mkdir(bank, 0o755))
	line := filepath.Join(bank, "line1")
	require.NoError(t, os.Mkdir(line, 0o755))
	write(t, filepath.Join(line, "name"), "second")
	write(t, filepath.Join(bank, "label"), "simulated wires")
	write(t, filepath.Join(bank, "num_lines"), fmt.Sprint(lines))
	write(t, filepath.Join(config, "live"), "1")
	t.Cleanup(func() {
		write(t, filepath.Join(config, "live"), "0")
		for _, folder := range []string{line, bank, config} {
			require.NoError(t, os.Remove(folder))
		}
	})
	chip := read(t, filepath.Join(bank, "chip_name"))
	s := &simulated{t: t, device: "/dev/" + chip, pulling: map[uint32]int{}}
	s.folder = filepath.Join("/sys/devices/platform", read(t, filepath.Join(config, "dev_name")), chip)
	t.Cleanup(func() {
		for _, fd := range s.pulling {
			_ = unix.Close(fd)
		}
	})
	return s
}

func (s *simulated) open() *Chip {
	s.t.Helper()
	c, err := Open(s.device)
	require.NoError(s.t, err)
	s.t.Cleanup(func() { require.NoError(s.t, c.Close()) })
	return c
}

func (s *simulated) file(line uint32, name string) string {
	return filepath.Join(s.folder, fmt.Sprintf("sim_gpio%d", line), name)
}

// pull moves a line that nobody drives. It returns when the kernel has served
// the interrupt.
func (s *simulated) pull(line uint32, high bool) {
	fd, ok := s.pulling[line]
	if !ok {
		var err error
		fd, err = unix.Open(s.file(line, "pull"), unix.O_WRONLY|unix.O_CLOEXEC, 0)
		require.NoError(s.t, err)
		s.pulling[line] = fd
	}
	word := "pull-down"
	if high {
		word = "pull-up"
	}
	_, err := unix.Pwrite(fd, []byte(word), 0)
	require.NoError(s.t, err)
}

// level is what the chip has on the line, whoever drives it.
func (s *simulated) level(line uint32) bool {
	return read(s.t, s.file(line, "value")) == "1"
}

func write(t testing.TB, path, text string) {
	t.Helper()
	require.NoError(t, os.WriteFile(path, []byte(text), 0o644))
}

func read(t testing.TB, path string) string {
	t.Helper()
	text, err := os.ReadFile(path)
	require.NoError(t, err)
	return strings.TrimSpace(string(text))
}
