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

// InputSettings is how lines are listened to.
type InputSettings struct {
	Pull   Pull   // for all lines of the request, save those of Up
	Up     uint64 // bit n set: the n-th line is pulled up
	Buffer int    // events that the kernel keeps, at least, 1 to MostEvents; 0 for MostEvents
}

// Inputs is lines whose edges are watched. Its methods are called by one
// goroutine at a time.
type Inputs struct {
	held
	order order
	raw   []unix.GPIOV2LineEvent
}

// Inputs takes lines and watches both edges of each from then on. User is the
// name that others see in [Chip.Line], at most 31 bytes of it. It fails with
// unix.EBUSY where a line is in use, and has then taken none.
func (c *Chip) Inputs(user string, lines []uint32, s InputSettings) (*Inputs, error) {
	if s.Buffer < 0 || s.Buffer > MostEvents {
		return nil, fmt.Errorf("%s: buffer of %d events: %w; give 1 to %d, or 0 for the most", c.path, s.Buffer, unix.EINVAL, MostEvents)
	}
	if int(s.Pull) >= len(pullFlags) {
		return nil, fmt.Errorf("%s: pull %d: %w; give one of the package's", c.path, s.Pull, unix.EINVAL)
	}
	if s.Buffer == 0 {
		s.Buffer = MostEvents
	}
	const watched = flagInput | flagEdgeRising | flagEdgeFalling
	config := unix.GPIOV2LineConfig{Flags: watched | pullFlags[s.Pull]}
	if up := s.Up & allOf(len(lines)); up != 0 {
		config.Num_attrs = 1
		config.Attrs[0].Attr.Id = unix.GPIO_V2_LINE_ATTR_ID_FLAGS
		config.Attrs[0].Attr.Flags = watched | flagPullUp
		config.Attrs[0].Mask = up
	}
	fd, err := c.request(user, lines, config, s.Buffer)
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

// Lost is how many edges the kernel counted and did not deliver, so far as was
// read. It falls where an event comes late after all.
func (in *Inputs) Lost() int64 { return in.order.lost }

// Read fills dst with the oldest events that wait, as many as there are and have
// room, and returns their number. Where none waits it waits for one until wait
// has passed (0: not at all, below 0: for ever) and returns 0 then, without
// error. Events of one line are in order; those of different lines may be out of
// order by some microseconds. It allocates nothing.
func (in *Inputs) Read(dst []Event, wait time.Duration) (int, error) {
	if len(dst) == 0 {
		return 0, nil
	}
	until := Now() + wait.Nanoseconds()
	for {
		n, err := in.take(dst)
		if n > 0 || err != nil {
			return n, err
		}
		left := until - Now()
		if wait >= 0 && left <= 0 {
			return 0, nil
		}
		if err := in.await(wait < 0, left); err != nil {
			return 0, err
		}
	}
}

// take reads what is there and does not wait.
func (in *Inputs) take(dst []Event) (int, error) {
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
func (in *Inputs) Await(wait time.Duration) error { return in.await(wait < 0, wait.Nanoseconds()) }

// await waits until something can be read, for left ns or for ever.
func (in *Inputs) await(forEver bool, left int64) error {
	polled := [1]unix.PollFd{{Fd: int32(in.fd), Events: unix.POLLIN}}
	limit := unix.NsecToTimespec(left)
	timeout := &limit
	if forEver {
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
