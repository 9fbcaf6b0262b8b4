package serial

import (
	"errors"
	"fmt"
	"runtime"
	"sync"
	"sync/atomic"
	"syscall"
	"time"

	"hilrig/rig/raspberry/realtime"
	"hilrig/rig/signal"
	"hilrig/stimulus/wire"
)

// Sender is what a serial device is asked to do.
type Sender interface {
	Write(data []byte) (int, error)
	ResetOutputBuffer() error
	Close() error
}

// Port is a serial port on a device of the operating system. A goroutine of
// its own writes each message when its time has come: on the wire it begins later
// than planned, by what the system takes to wake it and by what the driver needs. The
// port's line, read back, tells when.
type Port struct {
	name string
	uart wire.UART
	out  Sender
	now  func() signal.Time
	busy signal.Time // end of the last stop bit, as planned

	mu      sync.Mutex
	wake    sync.Cond // something was handed over, or the port is to be closed
	waiting queue
	epoch   int // counts calls of Safe
	writing bool
	closed  bool
	ended   chan struct{}
	failure atomic.Pointer[error]
}

// The most that a port takes in before it is due.
const (
	mostMessages = 1 << 10
	mostBytes    = 1 << 16
)

// queue are the messages that wait, in order of time.
type queue struct {
	data  []byte
	sizes []message
}

// message are the next size bytes, due at at.
type message struct {
	at   signal.Time
	size int
}

func (q *queue) add(at signal.Time, data []byte) bool {
	if len(q.sizes) == mostMessages || len(q.data)+len(data) > mostBytes {
		return false
	}
	q.data = append(q.data, data...)
	q.sizes = append(q.sizes, message{at, len(data)})
	return true
}

// dequeue appends the oldest message to dst and lets it go.
func (q *queue) dequeue(dst []byte) []byte {
	size := q.sizes[0].size
	dst = append(dst, q.data[:size]...)
	q.data = q.data[:copy(q.data, q.data[size:])]
	q.sizes = q.sizes[:copy(q.sizes, q.sizes[1:])]
	return dst
}

// InTurns, in place of a scheduling, says that a port has no goroutine: what is due is written
// when PutDue is called.
var InTurns = realtime.Scheduling{Priority: -1}

// Start puts a port on out, which it closes. Its goroutine asks for that scheduling.
func Start(spec signal.PortSpec, out Sender, now func() signal.Time, writer realtime.Scheduling) (*Port, error) {
	uart, err := wire.NewUART(spec)
	if err != nil {
		return nil, err
	}
	p := &Port{name: spec.Name, uart: uart, out: out, now: now, ended: make(chan struct{})}
	p.wake.L = &p.mu
	p.waiting = queue{data: make([]byte, 0, mostBytes), sizes: make([]message, 0, mostMessages)}
	if writer == InTurns {
		close(p.ended)
	} else {
		go p.write(writer)
	}
	return p, nil
}

// Send hands data over, to be written at at or behind the bytes still under way, and
// returns the planned end of its last stop bit. It keeps no reference to data and
// does not block.
func (p *Port) Send(at signal.Time, data []byte) (end signal.Time, err error) {
	if e := p.failure.Load(); e != nil {
		return 0, *e
	}
	p.mu.Lock()
	defer p.mu.Unlock()
	begin := max(at, p.busy)
	switch {
	case p.closed:
		return 0, errClosed
	case !p.waiting.add(begin, data):
		return 0, fmt.Errorf("send on %s at %v: too much is still under way", p.name, at)
	}
	p.wake.Signal()
	p.busy = begin + p.uart.Length(len(data))
	return p.busy, nil
}

// mostQuiet is how long Safe and Close wait for a write that does not end. One on a
// port that nothing holds up takes microseconds.
const mostQuiet = 50 * time.Millisecond

// Safe drops what waits and what the driver has not sent yet. A few bytes that the
// hardware has already may still go out.
func (p *Port) Safe() error {
	p.mu.Lock()
	p.epoch++
	p.waiting.data, p.waiting.sizes = p.waiting.data[:0], p.waiting.sizes[:0]
	p.busy = p.now()
	p.mu.Unlock()
	err := p.out.ResetOutputBuffer()
	for began := time.Now(); p.isWriting() && time.Since(began) < mostQuiet; { // what it frees may be filled again
		time.Sleep(time.Millisecond)
		err = p.out.ResetOutputBuffer()
	}
	if err != nil {
		return fmt.Errorf("port %s: drop what was not sent: %w", p.name, err)
	}
	return nil
}

func (p *Port) isWriting() bool {
	p.mu.Lock()
	defer p.mu.Unlock()
	return p.writing
}

// Close drops what waits and gives the device back.
func (p *Port) Close() error {
	p.mu.Lock()
	if p.closed {
		p.mu.Unlock()
		return nil
	}
	p.closed = true
	p.wake.Signal()
	p.mu.Unlock()
	err := p.Safe()
	select {
	case <-p.ended:
	case <-time.After(mostQuiet):
	}
	if e := p.out.Close(); err == nil && e != nil {
		err = fmt.Errorf("port %s: close: %w", p.name, e)
	}
	return err
}

var errClosed = errors.New("it is closed; open the bench anew")

// mostNap is how long the writer sleeps before it looks again.
const mostNap = 5 * signal.Millisecond

// write writes what is due until the port is closed.
func (p *Port) write(scheduling realtime.Scheduling) {
	runtime.LockOSThread() // never unlocked: its priority ends with it
	defer close(p.ended)
	scheduling.Ask() // what is denied was denied the loop, too
	realtime.Sharpen()
	buffer := make([]byte, 0, mostBytes)
	p.mu.Lock()
	defer p.mu.Unlock()
	for {
		for len(p.waiting.sizes) == 0 && !p.closed {
			p.wake.Wait()
		}
		if p.closed {
			return
		}
		if left := p.waiting.sizes[0].at - p.now(); left > 0 {
			p.mu.Unlock()
			realtime.Pause(min(left, mostNap))
			p.mu.Lock()
			continue // meanwhile it may have been dropped
		}
		buffer = p.waiting.dequeue(buffer[:0])
		p.put(buffer)
	}
}

// Due returns when the next message is to be written, [realtime.Never] where
// there is none.
func (p *Port) Due() signal.Time {
	p.mu.Lock()
	defer p.mu.Unlock()
	if len(p.waiting.sizes) == 0 {
		return realtime.Never
	}
	return p.waiting.sizes[0].at
}

// PutDue writes what is due, on a port without a goroutine.
func (p *Port) PutDue(now signal.Time) {
	p.mu.Lock()
	defer p.mu.Unlock()
	for len(p.waiting.sizes) > 0 && p.waiting.sizes[0].at <= now {
		p.put(p.waiting.dequeue(nil))
	}
}

// mostAtOnce is how many bytes are written at once: where Safe is called meanwhile
// the rest is dropped. The driver holds a few times as many, so that no gap
// arises on the wire.
const mostAtOnce = 1 << 10

// put writes a message, without the lock.
func (p *Port) put(data []byte) {
	epoch := p.epoch
	p.writing = true
	for len(data) > 0 && p.epoch == epoch {
		p.mu.Unlock()
		n, err := p.out.Write(data[:min(len(data), mostAtOnce)])
		p.mu.Lock()
		data = data[n:] // a signal to the process may cut a write short
		if err != nil && !errors.Is(err, syscall.EINTR) {
			err = fmt.Errorf("port %s: %w; %s", p.name, err, lossOf(err))
			p.failure.CompareAndSwap(nil, &err)
			break
		}
	}
	if p.epoch != epoch {
		p.out.ResetOutputBuffer()
	}
	p.writing = false
}

// lossOf says what has become of a device that takes nothing more.
func lossOf(err error) string {
	for _, no := range []error{syscall.EIO, syscall.ENODEV, syscall.ENXIO} {
		if errors.Is(err, no) {
			return "its device is gone, as when an adapter is pulled: see to the plug, and that a hub of its own feeds it"
		}
	}
	return "see whether its device is still there"
}
