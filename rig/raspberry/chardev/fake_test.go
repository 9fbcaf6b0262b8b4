//go:build linux

package chardev

import (
	"errors"
	"fmt"
	"sync"
	"time"

	"golang.org/x/sys/unix"

	"hilrig/rig/raspberry/cdev"
)

// fakeChip is a chip in memory, with pieces of wire from outputs to inputs: what a
// kernel does, without one.
type fakeChip struct {
	mu      sync.Mutex
	level   uint64            // by offset
	wire    map[uint32]uint32 // from, to
	user    map[uint32]string // who holds a line
	inputs  []*fakeInputs
	sets    []fakeSet
	failing error
	closed  int
}

// fakeSet is one call that set lines, of offsets.
type fakeSet struct {
	from, to     int64
	mask, levels uint64
}

var errFakeBusy = fmt.Errorf("in use: %w", unix.EBUSY)

func newFakeChip() *fakeChip {
	return &fakeChip{wire: map[uint32]uint32{}, user: map[uint32]string{}}
}

func (f *fakeChip) claim(lines []uint32) error {
	for _, l := range lines {
		if f.user[l] != "" {
			return errFakeBusy
		}
	}
	for _, l := range lines {
		f.user[l] = "bench"
	}
	return nil
}

func (f *fakeChip) Outputs(lines []uint32, initial uint64) (charOutputs, error) {
	f.mu.Lock()
	defer f.mu.Unlock()
	o := &fakeOutputs{f, lines}
	if err := f.claim(lines); err != nil {
		return nil, err
	}
	return o, o.set(1<<len(lines)-1, initial)
}

func (f *fakeChip) Inputs(lines []uint32, up uint64) (charInputs, error) {
	f.mu.Lock()
	defer f.mu.Unlock()
	if err := f.claim(lines); err != nil {
		return nil, err
	}
	in := &fakeInputs{chip: f, lines: lines, came: make(chan struct{}, 1)}
	for i, l := range lines {
		f.move(l, up>>i&1 != 0)
		in.start |= f.level >> l & 1 << i
	}
	f.inputs = append(f.inputs, in)
	return in, nil
}

func (f *fakeChip) Close() error { f.closed++; return nil }

// move changes the level of a captured line.
func (f *fakeChip) move(offset uint32, high bool) {
	if f.level>>offset&1 != 0 == high {
		return
	}
	f.level ^= 1 << offset
	for _, in := range f.inputs {
		for i, l := range in.lines {
			if l != offset {
				continue
			}
			in.number++
			in.events = append(in.events, cdev.Event{At: cdev.Now(), Line: i, Rising: high, Number: in.number})
			select {
			case in.came <- struct{}{}:
			default:
			}
		}
	}
}

// calls returns the calls that set lines so far, and whether the level of one is high.
func (f *fakeChip) calls() []fakeSet {
	f.mu.Lock()
	defer f.mu.Unlock()
	return append([]fakeSet(nil), f.sets...)
}

func (f *fakeChip) high(offset uint32) bool {
	f.mu.Lock()
	defer f.mu.Unlock()
	return f.level>>offset&1 != 0
}

func (f *fakeChip) fail(err error) {
	f.mu.Lock()
	defer f.mu.Unlock()
	f.failing = err
}

type fakeOutputs struct {
	chip  *fakeChip
	lines []uint32
}

func (o *fakeOutputs) Set(mask, levels uint64) error {
	o.chip.mu.Lock()
	defer o.chip.mu.Unlock()
	return o.set(mask, levels)
}

func (o *fakeOutputs) set(mask, levels uint64) error {
	if o.chip.failing != nil {
		return o.chip.failing
	}
	s := fakeSet{from: cdev.Now()}
	for i, l := range o.lines {
		if mask>>i&1 == 0 {
			continue
		}
		s.mask |= 1 << l
		high := levels>>i&1 != 0
		if high {
			s.levels |= 1 << l
		}
		o.chip.move(l, high)
		if to, ok := o.chip.wire[l]; ok {
			o.chip.move(to, high)
		}
	}
	s.to = cdev.Now()
	o.chip.sets = append(o.chip.sets, s)
	return nil
}

func (o *fakeOutputs) Close() error { return o.chip.giveBack(o.lines) }

func (f *fakeChip) giveBack(lines []uint32) error {
	f.mu.Lock()
	defer f.mu.Unlock()
	for _, l := range lines {
		if f.user[l] == "" {
			return errors.New("it was given back before")
		}
		delete(f.user, l)
	}
	return nil
}

type fakeInputs struct {
	chip   *fakeChip
	lines  []uint32
	start  uint64
	events []cdev.Event
	number uint32
	came   chan struct{}
}

func (in *fakeInputs) Start() uint64 { return in.start }

func (in *fakeInputs) Await(wait time.Duration) error {
	select {
	case <-in.came:
	case <-time.After(wait):
	}
	return nil
}

func (in *fakeInputs) Read(dst []cdev.Event) (int, error) {
	in.chip.mu.Lock()
	defer in.chip.mu.Unlock()
	n := copy(dst, in.events)
	in.events = in.events[n:]
	return n, nil
}

func (in *fakeInputs) Close() error { return in.chip.giveBack(in.lines) }
