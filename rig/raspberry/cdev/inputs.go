//go:build linux

package cdev

import (
	"errors"
	"fmt"
	"time"
	"unsafe"

	"golang.org/x/sys/unix"
)

// MostEvents is how many events the kernel keeps for one request, at most:
// gpiolib-cdev.c, GPIO_V2_LINES_MAX * 16.
const MostEvents = 1024

// Pull is the resistor inside the chip that holds a line nobody drives.
type Pull uint8

// The pulls. Not every chip has them: a request for one fails there.
const (
	PullLeft Pull = iota // as it was
	PullUp
	PullDown
	PullNone
)

var pullFlags = [...]uint64{PullLeft: 0, PullUp: flagPullUp, PullDown: flagPullDown, PullNone: flagNoPull}

// Inputs is lines whose edges are watched. Its methods are called by one
// goroutine at a time.
type Inputs struct {
	held
	order order
	raw   []unix.GPIOV2LineEvent
}

// Inputs takes lines and watches both edges of each from then on, with pull, and the n-th line
// pulled up where bit n of up is set. User is the name that others see in [Chip.Line], at most 31
// bytes of it. It fails with unix.EBUSY where a line is in use, and has then taken none.
func (c *Chip) Inputs(user string, lines []uint32, pull Pull, up uint64) (*Inputs, error) {
	if int(pull) >= len(pullFlags) {
		return nil, fmt.Errorf("%s: pull %d: %w; give one of the package's", c.path, pull, unix.EINVAL)
	}
	const watched = flagInput | flagEdgeRising | flagEdgeFalling
	config := unix.GPIOV2LineConfig{Flags: watched | pullFlags[pull]}
	if up &= allOf(len(lines)); up != 0 {
		config.Num_attrs = 1
		config.Attrs[0].Attr.Id = unix.GPIO_V2_LINE_ATTR_ID_FLAGS
		config.Attrs[0].Attr.Flags = watched | flagPullUp
		config.Attrs[0].Mask = up
	}
	fd, err := c.request(user, lines, config, MostEvents)
	if err != nil {
		return nil, err
	}
	in := &Inputs{held: held{fd, allOf(len(lines))}, raw: make([]unix.GPIOV2LineEvent, MostEvents)}
	if err := in.begin(lines); err != nil {
		_ = in.Close()
		return nil, fmt.Errorf("%s: lines %v: %w", c.path, lines, err)
	}
	return in, nil
}

// begin reads the levels that the edges begin from. The edges are watched
// already, so that none falls between.
func (in *Inputs) begin(lines []uint32) error {
	if err := unix.SetNonblock(in.fd, true); err != nil {
		return fmt.Errorf("read without waiting: %w", err)
	}
	levels, err := in.Levels()
	if err != nil {
		return err
	}
	in.order.begin(lines, levels, Now())
	return nil
}

// Start is the levels before the first edge: bit n is the n-th line. An edge that
// came while the lines were being taken can make it wrong for its line until
// that edge has been read.
func (in *Inputs) Start() uint64 { return in.order.start }

// Read fills dst with the oldest events that wait, as many as there are and have room, and
// returns their number. It waits for none. Events of one line are in order; those of different
// lines may be out of order by some microseconds. It allocates nothing.
func (in *Inputs) Read(dst []Event) (int, error) {
	if len(dst) == 0 {
		return 0, nil
	}
	raw := in.raw[:min(len(dst), len(in.raw))]
	size := int(unsafe.Sizeof(raw[0]))
	bytes := unsafe.Slice((*byte)(unsafe.Pointer(&raw[0])), len(raw)*size)
	n, err := unix.Read(in.fd, bytes)
	if errors.Is(err, unix.EAGAIN) || errors.Is(err, unix.EINTR) {
		return 0, nil
	}
	if err != nil {
		return 0, fmt.Errorf("read edges: %w", err)
	}
	for i := range n / size {
		dst[i] = in.order.event(&raw[i])
	}
	return n / size, nil
}

// Await waits until an event waits to be read, or until wait has passed (below 0:
// for ever). It may be called while another goroutine uses the other methods, save
// Close.
func (in *Inputs) Await(wait time.Duration) error {
	polled := [1]unix.PollFd{{Fd: int32(in.fd), Events: unix.POLLIN}}
	limit := unix.NsecToTimespec(wait.Nanoseconds())
	timeout := &limit
	if wait < 0 {
		timeout = nil
	}
	if _, err := unix.Ppoll(polled[:], timeout, nil); err != nil && !errors.Is(err, unix.EINTR) {
		return fmt.Errorf("wait for edges: %w", err)
	}
	if polled[0].Revents&(unix.POLLERR|unix.POLLHUP|unix.POLLNVAL) != 0 {
		return fmt.Errorf("wait for edges: %w; the chip has gone", unix.ENODEV)
	}
	return nil
}
