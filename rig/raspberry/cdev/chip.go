//go:build linux

package cdev

import (
	"errors"
	"fmt"
	"slices"
	"unsafe"

	"golang.org/x/sys/unix"
)

// MostLines is how many lines one request may hold.
const MostLines = 64

// Chip is an open character device. Its methods may be called by several
// goroutines at once, Close last.
type Chip struct {
	path string
	fd   int
	info Info
}

// Info is what a chip says of itself.
type Info struct {
	Name  string // the kernel's, as gpiochip0
	Label string // the driver's, as pinctrl-bcm2711
	Lines int    // offsets are 0 to Lines-1
}

// LineInfo is what the kernel says of one line.
type LineInfo struct {
	Name     string // from the device tree; empty where it has none
	User     string // who holds the line; empty for nobody, or for one without a name
	Used     bool   // it cannot be requested
	IsOutput bool
}

// Open opens the device at path, as /dev/gpiochip0, and changes no line. It
// fails where path is no GPIO chip.
func Open(path string) (*Chip, error) {
	fd, err := unix.Open(path, unix.O_RDWR|unix.O_CLOEXEC, 0)
	if err != nil {
		return nil, fmt.Errorf("%s: %w; give the name of a GPIO chip, and the user its group", path, err)
	}
	var raw unix.GPIOChipInfo
	if err := ioctl(fd, unix.GPIO_GET_CHIPINFO_IOCTL, unsafe.Pointer(&raw)); err != nil {
		_ = unix.Close(fd)
		return nil, fmt.Errorf("%s is no GPIO chip: %w; give the name of one, as /dev/gpiochip0", path, err)
	}
	info := Info{unix.ByteSliceToString(raw.Name[:]), unix.ByteSliceToString(raw.Label[:]), int(raw.Lines)}
	return &Chip{path, fd, info}, nil
}

// Info returns what the chip said of itself when it was opened.
func (c *Chip) Info() Info { return c.info }

// Line asks the kernel about one line. It fails for an offset that the chip
// does not have.
func (c *Chip) Line(offset uint32) (LineInfo, error) {
	raw := unix.GPIOV2LineInfo{Offset: offset}
	if err := ioctl(c.fd, unix.GPIO_V2_GET_LINEINFO_IOCTL, unsafe.Pointer(&raw)); err != nil {
		return LineInfo{}, fmt.Errorf("%s: line %d: %w; it has lines 0 to %d", c.path, offset, err, c.info.Lines-1)
	}
	return LineInfo{
		Name:     unix.ByteSliceToString(raw.Name[:]),
		User:     unix.ByteSliceToString(raw.Consumer[:]),
		Used:     raw.Flags&flagUsed != 0,
		IsOutput: raw.Flags&flagOutput != 0,
	}, nil
}

// Close closes the device. Requests that were made through it live on.
func (c *Chip) Close() error { return unix.Close(c.fd) }

// request takes lines for user and returns the descriptor that holds them.
func (c *Chip) request(user string, lines []uint32, config unix.GPIOV2LineConfig, buffer int) (int, error) {
	if len(lines) == 0 || len(lines) > MostLines {
		return -1, fmt.Errorf("%s: %d lines in one request: %w; give 1 to %d", c.path, len(lines), unix.EINVAL, MostLines)
	}
	raw := unix.GPIOV2LineRequest{Config: config, Num_lines: uint32(len(lines)), Event_buffer_size: uint32(buffer)}
	copy(raw.Offsets[:], lines)
	copy(raw.Consumer[:len(raw.Consumer)-1], user)
	if err := ioctl(c.fd, unix.GPIO_V2_GET_LINE_IOCTL, unsafe.Pointer(&raw)); err != nil {
		return -1, c.denied(lines, err)
	}
	return int(raw.Fd), nil
}

// denied says which line is to blame where that can be found out.
func (c *Chip) denied(lines []uint32, err error) error {
	for i, line := range lines {
		if int64(line) >= int64(c.info.Lines) {
			return fmt.Errorf("%s: line %d: %w; it has lines 0 to %d", c.path, line, err, c.info.Lines-1)
		}
		if slices.Contains(lines[:i], line) {
			return fmt.Errorf("%s: line %d is named twice: %w; name it once", c.path, line, err)
		}
	}
	if errors.Is(err, unix.EBUSY) {
		for _, line := range lines {
			if info, e := c.Line(line); e == nil && info.Used {
				return fmt.Errorf("%s: line %d is in use by %q: %w; free it or wire another", c.path, line, info.User, err)
			}
		}
	}
	return fmt.Errorf("%s: lines %v: %w; see what the kernel's log says of them", c.path, lines, err)
}
