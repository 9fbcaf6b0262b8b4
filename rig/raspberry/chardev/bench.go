//go:build linux

package chardev

import (
	"errors"

	"hilrig/rig/raspberry/cdev"
	"hilrig/rig/raspberry/hostlines"
	"hilrig/rig/signal"
)

// Bench is a bench on lines of the kernel's GPIO character device, in real time: a
// edge output sets levels when they are due, and the kernel stamps the edges of captured
// lines. It is for servo pulses, and for OneShot125 with an uncertainty of [StampUncertainty]. A port
// without a device puts its bytes out as levels of its line, which a Pi is too slow for
// at any common rate. It is used by one goroutine.
//
// The kernel counts the edges of all captured lines together, and tells by the numbers
// what it lost: see [Bench.Timing], and for the gaps that come of it signal.Edge. Of one line
// that is captured alone it does not count what it could not keep apart.
//
// A call of the kernel that fails ends playing, and is the error of every method from then on
// until Close.
type Bench struct {
	*hostlines.Bench
	on *chipBackend
}

// charDevice is what hands out the lines; see [cdev.Chip]. What comes with an error is nil.
type charDevice interface {
	Outputs(lines []uint32, initial uint64) (charOutputs, error)
	// Inputs pulls the lines of up high and the others low: a wire that is off looks like
	// a board that sends nothing.
	Inputs(lines []uint32, up uint64) (charInputs, error)
	Close() error
}

// charChip is a chip of the kernel.
type charChip struct{ *cdev.Chip }

func (c charChip) Outputs(lines []uint32, initial uint64) (charOutputs, error) {
	out, err := c.Chip.Outputs(charUser, lines, initial)
	if err != nil {
		return nil, err // a nil *cdev.Outputs is no nil charOutputs
	}
	return out, nil
}

func (c charChip) Inputs(lines []uint32, up uint64) (charInputs, error) {
	in, err := c.Chip.Inputs(charUser, lines, cdev.PullDown, up)
	if err != nil {
		return nil, err
	}
	return in, nil
}

// New opens a bench at time 0 on the chip at path, as /dev/gpiochip0 (see [HeaderChip]): driven
// lines become outputs at their idle levels, all in one call of the kernel, and captured lines
// are listened to. It takes all lines or none. A line in use is an error for which
// errors.Is(err, unix.EBUSY) holds. A format that the kernel's stamps are too coarse for is
// refused.
//
// The bench leaves the pin of a UART of the Pi's own alone: to listen there would take it
// from the UART.
func New(path string, s hostlines.Settings) (*Bench, error) {
	if path == "" {
		return nil, errors.New("bench on the character device: no chip; give its path, as /dev/gpiochip0")
	}
	if err := errors.Join(refuses(s.Formats), s.Check()); err != nil {
		return nil, err
	}
	chip, err := cdev.Open(path)
	if err != nil {
		return nil, err
	}
	return newBench(&s, charChip{chip})
}

// newBench opens a bench on device, which it closes, where it fails too. The
// settings are checked.
func newBench(s *hostlines.Settings, device charDevice) (*Bench, error) {
	zero := cdev.Now()
	m := &chipBackend{layout: s.Layout, device: device, clock: func() signal.Time { return signal.Time(cdev.Now() - zero) }}
	lines := m.sort(s)
	b := &Bench{hostlines.New("bench on the character device", s, m.bit), m}
	err := m.request(s, lines, zero)
	if err == nil {
		err = b.OpenPorts(s.Devices, m.clock, s.Scheduling.Beside(s.Scheduling.Priority/2))
	}
	if err != nil {
		return nil, errors.Join(err, b.CloseDevices(), m.giveBack())
	}
	m.bench, m.output.queues = b.Bench, b.Queues
	denied := make(chan []string, 1)
	go m.output.run(s.Scheduling, denied)
	b.Begin(m, <-denied)
	go m.listen.run()
	if m.back != nil {
		go m.back.run()
	}
	return b, nil
}

// Timing returns how well the bench kept time since it was opened.
func (b *Bench) Timing() (t Timing) {
	b.Look(func() { t.Late = b.on.output.late })
	t.Count = b.on.listen.counted()
	return t
}
