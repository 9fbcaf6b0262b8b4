//go:build linux && gpiovm

package chardev

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
	t      testing.TB
	device string // /dev/gpiochipN
	folder string // /sys/devices/platform/...
	open   map[simulatedFile]int
}

// simulatedFile is a file of one line.
type simulatedFile struct {
	line uint32
	name string
}

// simulate makes a chip of so many lines, all pulled low, with the label of a Pi 5's
// header, and takes it away at the end of the test.
func simulate(t testing.TB, lines int) *simulated {
	t.Helper()
	config := filepath.Join("/sys/kernel/config/gpio-sim", strings.ReplaceAll(t.Name(), "/", "-"))
	bank := filepath.Join(config, "bank")
	require.NoError(t, os.Mkdir(config, 0o755))
	require.NoError(t, os.Mkdir(bank, 0o755))
	write(t, filepath.Join(bank, "label"), "pinctrl-rp1")
	write(t, filepath.Join(bank, "num_lines"), fmt.Sprint(lines))
	write(t, filepath.Join(config, "live"), "1")
	t.Cleanup(func() {
		write(t, filepath.Join(config, "live"), "0")
		for _, folder := range []string{bank, config} {
			require.NoError(t, os.Remove(folder))
		}
	})
	chip := read(t, filepath.Join(bank, "chip_name"))
	s := &simulated{t: t, device: "/dev/" + chip, open: map[simulatedFile]int{}}
	s.folder = filepath.Join("/sys/devices/platform", read(t, filepath.Join(config, "dev_name")), chip)
	t.Cleanup(func() {
		for _, fd := range s.open {
			_ = unix.Close(fd)
		}
	})
	return s
}

// file returns a descriptor of a line's file, which stays open.
func (s *simulated) file(line uint32, name string) int {
	fd, ok := s.open[simulatedFile{line, name}]
	if !ok {
		path := filepath.Join(s.folder, fmt.Sprintf("sim_gpio%d", line), name)
		mode := unix.O_RDONLY
		if name == "pull" {
			mode = unix.O_WRONLY
		}
		var err error
		fd, err = unix.Open(path, mode|unix.O_CLOEXEC, 0)
		require.NoError(s.t, err)
		s.open[simulatedFile{line, name}] = fd
	}
	return fd
}

var pullWords = map[bool][]byte{false: []byte("pull-down"), true: []byte("pull-up")}

// pull moves a line that nobody drives. It returns when the kernel has served
// the interrupt.
func (s *simulated) pull(line uint32, high bool) {
	_, err := unix.Pwrite(s.file(line, "pull"), pullWords[high], 0)
	require.NoError(s.t, err)
}

// level is what the chip has on the line, whoever drives it.
func (s *simulated) level(line uint32) bool {
	var text [1]byte
	_, err := unix.Pread(s.file(line, "value"), text[:], 0)
	require.NoError(s.t, err)
	return text[0] == '1'
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
