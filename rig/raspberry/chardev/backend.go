//go:build linux

package chardev

import (
	"cmp"
	"errors"
	"math"
	"slices"

	"golang.org/x/sys/unix"

	"hilrig/rig"
	"hilrig/rig/raspberry/hostlines"
	"hilrig/rig/raspberry/realtime"
	"hilrig/rig/signal"
)

// chipBackend moves the lines of a bench by calls of the kernel.
type chipBackend struct {
	bench  *hostlines.Bench
	layout signal.Layout
	clock  func() signal.Time
	device charDevice
	listen *listener
	back   *listener // to the wires of ports on devices; nil: none is read back
	output *charEdgeOutput
	reset  charOutputs // nil: there is none
	bit    []uint64    // of driven lines, by line
}

// charSorted is the lines of a layout by what they are used for: offsets on the chip.
type charSorted struct {
	driven, captured []uint32
	idle, up         uint64        // bit n: the n-th is high at rest
	heard            []signal.Line // those captured

	back     []uint32 // wires of ports on devices
	backLine []signal.Line
}

// sort sorts the lines and gives those that are driven a bit each.
func (m *chipBackend) sort(s *hostlines.Settings) (out charSorted) {
	for i, l := range s.Layout.Lines {
		m.bit = append(m.bit, 0)
		pin := uint32(s.Pins[i])
		if s.Device(signal.Line(i)) != "" {
			if s.Claims(signal.Line(i)) {
				out.back = append(out.back, pin)
				out.backLine = append(out.backLine, signal.Line(i))
			}
			continue
		}
		if l.Direction == signal.Capture {
			out.up |= oneBit(l.Idle) << len(out.captured)
			out.captured = append(out.captured, pin)
			out.heard = append(out.heard, signal.Line(i))
			continue
		}
		m.bit[i] = 1 << len(out.driven)
		out.idle |= oneBit(l.Idle) << len(out.driven)
		out.driven = append(out.driven, pin)
	}
	return out
}

// request requests the lines and makes edge output and listener.
func (m *chipBackend) request(s *hostlines.Settings, lines charSorted, zero int64) error {
	if len(lines.driven) == 0 || len(lines.captured) == 0 {
		return errors.New("bench on the character device: it needs lines to drive and lines to capture")
	}
	in, err := m.device.Inputs(lines.captured, lines.up)
	if err != nil {
		return err
	}
	m.listen = newListener(in, lines.heard, m.clock, zero, StampUncertainty, settled)
	if len(lines.back) > 0 {
		// Apart from the others: what is lost here, as bits come fast, is no matter there.
		if in, err = m.device.Inputs(lines.back, math.MaxUint64); err != nil {
			return err
		}
		m.back = newListener(in, lines.backLine, m.clock, zero, StampUncertainty, settled)
	}
	if s.Reset > 0 {
		if m.reset, err = m.device.Outputs([]uint32{uint32(s.Reset)}, 1); err != nil {
			return err
		}
	}
	out, err := m.device.Outputs(lines.driven, lines.idle)
	if err != nil {
		return err
	}
	if m.output, err = newCharEdgeOutput(out, m.clock, s.Layout); err != nil {
		return errors.Join(err, out.Close())
	}
	return nil
}

// giveBack gives back what was taken. Edge output and listener do not run.
func (m *chipBackend) giveBack() error {
	var failed []error
	if m.output != nil {
		failed = append(failed, m.output.out.Close(), unix.Close(m.output.bell))
	}
	if m.reset != nil {
		failed = append(failed, m.reset.Close())
	}
	for _, l := range []*listener{m.listen, m.back} {
		if l != nil {
			failed = append(failed, l.in.Close())
		}
	}
	return errors.Join(append(failed, m.device.Close())...)
}

// Present is the time, by the clock that stamps the edges.
func (m *chipBackend) Present() signal.Time { return m.clock() }

// Reported is the time up to which the edges of captured lines are reported, a little before
// the present, so that those that the kernel still deals with come in order.
func (m *chipBackend) Reported() signal.Time {
	now, _ := m.listen.upTo() // the error is that of every method that has one
	return now
}

// Failed says which call of the kernel failed.
func (m *chipBackend) Failed() error { return m.output.failed() }

// Wait waits until t is past and reported, and all edges up to t are put out.
func (m *chipBackend) Wait(t signal.Time, played func(signal.Time) bool) error {
	realtime.Pause(t + settled - m.clock())
	for {
		now, err := m.listen.upTo()
		if err == nil {
			err = m.Failed()
		}
		if err != nil || now >= t && played(t) {
			return err
		}
		realtime.Pause(20 * signal.Microsecond)
	}
}

// Queued wakes the edge output.
func (m *chipBackend) Queued(at signal.Time) { m.output.wake(at) }

// Do has something done between two changes, by the edge output.
func (m *chipBackend) Do(last bool, do func(now signal.Time)) { m.output.do(last, do) }

// Rest sets the idle level of every driven line by one call.
func (m *chipBackend) Rest(now signal.Time) (signal.Time, error) {
	var mask, levels uint64
	for i, l := range m.layout.Lines {
		mask |= m.bit[i]
		if l.Idle {
			levels |= m.bit[i]
		}
	}
	err := m.output.out.Set(mask, levels)
	after := m.clock()
	if err != nil {
		m.output.fail(err)
		return after, err
	}
	for i, l := range m.layout.Lines {
		if m.bit[i] != 0 && m.output.level[i] != l.Idle {
			m.output.level[i] = l.Idle
			m.output.last[m.bench.Group[i]] = after
			m.output.tell(now, after, signal.Line(i), l.Idle)
		}
	}
	return after, nil
}

// Captured appends the edges of captured lines.
func (m *chipBackend) Captured(dst []signal.Edge) ([]signal.Edge, error) {
	dst, _, err := m.listen.appendReported(dst)
	return dst, err
}

// Samples says whether ReadBack tells of a driven line: of all but those of ports on
// devices that no pin listens to.
func (m *chipBackend) Samples(line signal.Line) bool {
	return m.bit[line] != 0 || m.back != nil && slices.Contains(m.back.lines, line)
}

// LateStretches appends nothing: whatever the bench plays itself it reads back.
func (m *chipBackend) LateStretches(dst []signal.LateStretch) []signal.LateStretch { return dst }

// ReadBack appends the edges of driven lines: each at the end of the kernel's call, and late by
// as long as that took. Nothing looks at those wires. The wire of a port on a device is
// listened to like a captured line where it has a pin, and is reported with the levels that the
// board sees.
func (m *chipBackend) ReadBack(dst []signal.Edge) ([]signal.Edge, error) {
	first, until := len(dst), signal.Time(math.MaxInt64)
	var heard error
	if m.back != nil {
		dst, until, heard = m.back.appendReported(dst)
		for i := range dst[first:] {
			e := &dst[first+i]
			if m.bench.PortOf(e.Line).UART.Inverted { // the inverter stands behind the pin
				e.Level = !e.Level
			}
		}
	}
	dst, err := m.output.read(dst, until)
	if m.back != nil {
		slices.SortStableFunc(dst[first:], func(a, b signal.Edge) int { return cmp.Compare(a.At, b.At) })
	}
	return dst, errors.Join(heard, err)
}

// Restart holds the board's reset line low for a while.
func (m *chipBackend) Restart() error {
	if m.reset == nil {
		return rig.ErrNotPossible
	}
	return hostlines.Reset(func(level bool) error { return m.reset.Set(1, oneBit(level)) })
}

// Close ends the listeners and gives the lines back.
func (m *chipBackend) Close() error {
	m.listen.end()
	if m.back != nil {
		m.back.end()
	}
	return m.giveBack()
}
