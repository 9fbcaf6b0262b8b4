//go:build linux

package chardev

import (
	"math/bits"
	"sync"

	"hilrig/rig/raspberry/cdev"
	"hilrig/rig/raspberry/realtime"
	"hilrig/rig/signal"
)

// timedDevice is a device whose calls are timed.
type timedDevice struct {
	charDevice
	calls timedCalls
	heard *timedInputs
}

// timedCalls is how long calls that set lines took.
type timedCalls struct{ one, several realtime.Histogram }

// Outputs hands out lines whose calls are timed.
func (d *timedDevice) Outputs(lines []uint32, initial uint64) (charOutputs, error) {
	out, err := d.charDevice.Outputs(lines, initial)
	if err != nil {
		return nil, err
	}
	return &timedOutputs{out, &d.calls}, nil
}

// Inputs hands out lines whose events are kept.
func (d *timedDevice) Inputs(lines []uint32, up uint64) (charInputs, error) {
	in, err := d.charDevice.Inputs(lines, up)
	if err != nil {
		return nil, err
	}
	d.heard = &timedInputs{charInputs: in}
	return d.heard, nil
}

type timedOutputs struct {
	charOutputs
	calls *timedCalls // the edge output's
}

// Set sets and notes how long that took.
func (o *timedOutputs) Set(mask, levels uint64) error {
	began := cdev.Now()
	err := o.charOutputs.Set(mask, levels)
	took := signal.Time(cdev.Now() - began)
	if bits.OnesCount64(mask) == 1 {
		o.calls.one.Add(took)
	} else {
		o.calls.several.Add(took)
	}
	return err
}

// timedInputs keeps what was read, and how long after its stamp.
type timedInputs struct {
	charInputs
	mu     sync.Mutex
	events []cdev.Event
	read   realtime.Histogram
}

// Read reads and keeps what was read.
func (in *timedInputs) Read(dst []cdev.Event) (int, error) {
	n, err := in.charInputs.Read(dst)
	if n > 0 {
		now := cdev.Now()
		in.mu.Lock()
		defer in.mu.Unlock()
		for i := range dst[:n] {
			in.read.Add(signal.Time(now - dst[i].At))
		}
		in.events = append(in.events, dst[:n]...)
	}
	return n, err
}

// appendRead appends the edges that were read since the last call, at times from zero on.
func (in *timedInputs) appendRead(dst []stamped, zero int64) []stamped {
	in.mu.Lock()
	defer in.mu.Unlock()
	for i := range in.events {
		dst = append(dst, stamped{signal.Time(in.events[i].At - zero), in.events[i].Rising})
	}
	in.events = in.events[:0]
	return dst
}

// reading returns the histogram so far, and begins a new one.
func (in *timedInputs) reading() realtime.Histogram {
	in.mu.Lock()
	defer in.mu.Unlock()
	h := in.read
	in.read = realtime.Histogram{}
	return h
}
