package serial

import (
	"errors"
	"fmt"
	"os"

	"golang.org/x/sys/unix"
)

// lockDevice keeps other programs that lock their devices from this one, as far as
// these do so by flock(2). The kernel's own exclusive mode does not hold against root.
func lockDevice(device string) (*os.File, error) {
	fd, err := unix.Open(device, unix.O_RDWR|unix.O_NOCTTY|unix.O_NONBLOCK|unix.O_CLOEXEC, 0)
	switch {
	case errors.Is(err, unix.EBUSY):
		return nil, errBusy
	case err != nil:
		return nil, err
	}
	if err := unix.Flock(fd, unix.LOCK_EX|unix.LOCK_NB); err != nil {
		unix.Close(fd)
		if errors.Is(err, unix.EWOULDBLOCK) {
			return nil, errBusy
		}
		return nil, err
	}
	return os.NewFile(uintptr(fd), device), nil
}

// A receiver samples the middle of a bit: after ten bits it is off by half a bit at
// 5 %, of which the board's own clock gets a part.
const mostOff = 0.025

// checkSpeed holds the speed that the driver has set against the one asked for.
func checkSpeed(device *os.File, baud int) error {
	t, err := unix.IoctlGetTermios(int(device.Fd()), unix.TCGETS2)
	if err != nil {
		return fmt.Errorf("read its speed: %w", err)
	}
	if off := float64(t.Ospeed)/float64(baud) - 1; off > mostOff || off < -mostOff {
		return fmt.Errorf("%w: it took %d baud for %d", errSpeed, t.Ospeed, baud)
	}
	return nil
}
