//go:build linux

package cdev

import (
	"fmt"
	"unsafe"

	"golang.org/x/sys/unix"
)

// held is lines that were requested.
type held struct {
	fd  int
	all uint64 // a set bit for each line
}

// Levels reads all lines of the request at once: bit n is the n-th.
func (h *held) Levels() (uint64, error) {
	values := unix.GPIOV2LineValues{Mask: h.all}
	if err := ioctl(h.fd, unix.GPIO_V2_LINE_GET_VALUES_IOCTL, unsafe.Pointer(&values)); err != nil {
		return 0, fmt.Errorf("read lines: %w", err)
	}
	return values.Bits & h.all, nil
}

// Close gives the lines back. What an output does from then on is up to the
// chip's driver, most leave it as it is: drive the safe level first. No other
// method may be running or be called afterwards.
func (h *held) Close() error { return unix.Close(h.fd) }

// Outputs is lines that are driven. Its methods neither block nor allocate.
type Outputs struct{ held }

// Outputs takes lines and drives them to initial, bit n for lines[n], in one
// call: a line that was high and is to be high is never low in between. User is
// the name that others see in [Chip.Line], at most 31 bytes of it. It fails with
// unix.EBUSY where a line is in use, and has then taken none.
func (c *Chip) Outputs(user string, lines []uint32, initial uint64) (*Outputs, error) {
	all := allOf(len(lines))
	config := unix.GPIOV2LineConfig{Flags: flagOutput, Num_attrs: 1}
	config.Attrs[0].Attr.Id = unix.GPIO_V2_LINE_ATTR_ID_OUTPUT_VALUES
	config.Attrs[0].Attr.Flags = initial & all // a union: these are the values
	config.Attrs[0].Mask = all
	fd, err := c.request(user, lines, config, 0)
	if err != nil {
		return nil, err
	}
	return &Outputs{held{fd, all}}, nil
}

// Set drives the lines of mask to levels and leaves the others. Bits beyond the
// lines of the request are ignored.
func (o *Outputs) Set(mask, levels uint64) error {
	values := unix.GPIOV2LineValues{Mask: mask & o.all, Bits: levels & mask & o.all}
	if values.Mask == 0 {
		return nil // the kernel refuses to set nothing
	}
	if err := ioctl(o.fd, unix.GPIO_V2_LINE_SET_VALUES_IOCTL, unsafe.Pointer(&values)); err != nil {
		return fmt.Errorf("drive lines %#x: %w", values.Mask, err)
	}
	return nil
}

// allOf sets the lowest n bits, 0 to 64.
func allOf(n int) uint64 { return bit(n) - 1 }
