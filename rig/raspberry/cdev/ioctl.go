//go:build linux

package cdev

import (
	"unsafe"

	"golang.org/x/sys/unix"
)

// Flags of lines: linux/gpio.h, enum gpio_v2_line_flag.
const (
	flagUsed        = 1 << 0
	flagInput       = 1 << 2
	flagOutput      = 1 << 3
	flagEdgeRising  = 1 << 4
	flagEdgeFalling = 1 << 5
	flagPullUp      = 1 << 8
	flagPullDown    = 1 << 9
	flagNoPull      = 1 << 10
)

// ioctl makes one call, again where a signal broke into it. argument stays where
// it is until the call has returned.
func ioctl(fd int, request uint, argument unsafe.Pointer) error {
	for {
		_, _, errno := unix.Syscall(unix.SYS_IOCTL, uintptr(fd), uintptr(request), uintptr(argument))
		switch errno {
		case 0:
			return nil
		case unix.EINTR:
		default:
			return errno
		}
	}
}

// Now is the time in ns by the clock that stamps edges.
func Now() int64 {
	var t unix.Timespec
	if err := unix.ClockGettime(unix.CLOCK_MONOTONIC, &t); err != nil {
		return 0 // every Linux has this clock
	}
	return t.Nano()
}

func bit(n int) uint64 { return 1 << n }
