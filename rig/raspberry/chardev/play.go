//go:build linux

package chardev

import (
	"errors"
	"fmt"
	"math"
	"runtime"
	"slices"
	"sync/atomic"
	"time"

	"golang.org/x/sys/unix"

	"hilrig/rig/raspberry/hostlines"
	"hilrig/rig/raspberry/realtime"
	"hilrig/rig/signal"
)

// charOutputs is what a bench asks of the lines that it drives; see [cdev.Outputs].
type charOutputs interface {
	Set(mask, levels uint64) error
	Close() error
}

// charEdgeOutput puts out changes when their time has come, by one call of the kernel for
// all that are due at the same time, save those of one encoder, which come one after
// the other. It sleeps until shortly before a change is due and spins from then on.
// How far late ones of one group stay apart [hostlines.Change] says.
type charEdgeOutput struct {
	hostlines.Requests
	out    charOutputs
	clock  func() signal.Time
	queues []*hostlines.Queue
	level  []bool // on the wires, by line
	last   [256]signal.Time
	due    []hostlines.Change // at one time
	late   realtime.Histogram // of the end of the call, after the time planned

	reading atomic.Bool
	back    *realtime.Ring[signal.Edge] // what was put out, while somebody reads it
	unread  atomic.Uint32               // what there was no room for

	failure atomic.Pointer[error]
	asleep  atomic.Int64 // until when; 0: awake
	bell    int          // an eventfd that wakes it
}

// spinBefore is how long before a change is due the edge output is awake: longer than
// Linux lets a thread without priority oversleep (50 us, man 2 prctl, PR_SET_TIMERSLACK) and
// than the wake-up takes (common practice, no source).
const spinBefore = 100 * signal.Microsecond

func newCharEdgeOutput(out charOutputs, clock func() signal.Time, layout signal.Layout) (*charEdgeOutput, error) {
	bell, err := unix.Eventfd(0, unix.EFD_CLOEXEC|unix.EFD_NONBLOCK)
	if err != nil {
		return nil, fmt.Errorf("wake the edge output: %w", err)
	}
	p := &charEdgeOutput{out: out, clock: clock, back: realtime.NewRing[signal.Edge](17), bell: bell}
	for _, l := range layout.Lines {
		p.level = append(p.level, l.Idle)
	}
	p.due = make([]hostlines.Change, 0, 64)
	return p, nil
}

// run plays, on a thread of its own, with this scheduling, until a request is the last. It tells
// what of the scheduling was denied before it begins.
func (p *charEdgeOutput) run(scheduling realtime.Scheduling, denied chan<- []string) {
	runtime.LockOSThread() // never unlocked: a thread with a priority of its own ends with its goroutine
	denied <- scheduling.Ask()
	realtime.Sharpen()
	for {
		if p.Waiting() {
			if p.Serve(p.clock()) {
				return
			}
			continue
		}
		next, now := p.next(), p.clock()
		switch {
		case next <= now:
			p.step(now)
		case next-now > spinBefore:
			p.sleep(next - spinBefore)
		}
	}
}

// next returns when the first change may be put out; the end of time where there is none.
func (p *charEdgeOutput) next() signal.Time {
	next := signal.Time(math.MaxInt64)
	for _, q := range p.queues {
		if head := q.Head.Load(); head != q.Tail.Load() {
			next = min(next, p.when(&q.Slot[head&q.Mask]))
		}
	}
	return next
}

// when returns when a change may be put out.
func (p *charEdgeOutput) when(c *hostlines.Change) signal.Time {
	return max(c.At, p.last[c.Group]+signal.Time(c.Apart))
}

// step puts out what may be put out now, of each queue what was planned for one time.
func (p *charEdgeOutput) step(now signal.Time) {
	for _, q := range p.queues {
		head, tail := q.Head.Load(), q.Tail.Load()
		p.due = p.due[:0]
		for ; head != tail && len(p.due) < cap(p.due); head++ {
			c := &q.Slot[head&q.Mask]
			if p.when(c) > now || len(p.due) > 0 && (c.At != p.due[0].At || p.grouped(c.Group)) {
				break
			}
			p.due = append(p.due, *c)
		}
		if len(p.due) > 0 {
			p.put(p.due)
			q.Head.Store(head)
		}
	}
}

// grouped says whether a change of the group is among those that are due.
func (p *charEdgeOutput) grouped(group uint8) bool {
	return slices.ContainsFunc(p.due, func(c hostlines.Change) bool { return c.Group == group })
}

// put puts changes out by one call, and notes when they came to be on the wires.
// After a call that fails nothing more is put out until the bench is made safe.
func (p *charEdgeOutput) put(changes []hostlines.Change) {
	if p.failure.Load() != nil {
		return
	}
	var mask, levels uint64
	for i := range changes {
		mask |= changes[i].Mask
		if changes[i].Level {
			levels |= changes[i].Mask
		}
	}
	before := p.clock()
	err := p.out.Set(mask, levels)
	after := p.clock()
	if err != nil {
		p.fail(err)
		return
	}
	for i := range changes {
		c := &changes[i]
		p.level[c.Line] = c.Level
		p.last[c.Group] = after
		p.late.Add(after - c.At)
		p.tell(before, after, c.Line, c.Level)
	}
}

// fail keeps the first failure.
func (p *charEdgeOutput) fail(err error) { p.failure.CompareAndSwap(nil, &err) }

// failed returns why the edge output has stopped; nil while it plays.
func (p *charEdgeOutput) failed() error {
	if err := p.failure.Load(); err != nil {
		return *err
	}
	return nil
}

// tell keeps an edge that was put out, by a call from before to after, for whoever reads it.
func (p *charEdgeOutput) tell(before, after signal.Time, line signal.Line, level bool) {
	if !p.reading.Load() {
		return
	}
	tail := p.back.Tail.Load()
	if tail-p.back.Head.Load() == uint32(len(p.back.Slot)) {
		p.unread.Add(1)
		return
	}
	late := uint32(min(max(after-before, 1), math.MaxUint32))
	p.back.Slot[tail&p.back.Mask] = signal.Edge{At: after, Uncertainty: late, Line: line, Level: level}
	p.back.Tail.Store(tail + 1)
}

// read appends what was put out since the last call, up to a time.
func (p *charEdgeOutput) read(dst []signal.Edge, until signal.Time) ([]signal.Edge, error) {
	p.reading.Store(true)
	head, tail := p.back.Head.Load(), p.back.Tail.Load()
	for ; head != tail && p.back.Slot[head&p.back.Mask].At <= until; head++ {
		dst = append(dst, p.back.Slot[head&p.back.Mask])
	}
	p.back.Head.Store(head)
	if n := p.unread.Swap(0); n > 0 {
		return dst, fmt.Errorf("%d driven edges were lost, as nobody read them back in time", n)
	}
	return dst, nil
}

// sleep waits until a time, or until the bell is rung.
func (p *charEdgeOutput) sleep(until signal.Time) {
	p.asleep.Store(int64(until))
	// Whoever handed something over before this saw the edge output awake.
	if left := until - p.clock(); left > 0 && !p.Waiting() && p.next() >= until {
		polled := [1]unix.PollFd{{Fd: int32(p.bell), Events: unix.POLLIN}}
		timeout := unix.NsecToTimespec(min(int64(left), int64(time.Hour)))
		if _, err := unix.Ppoll(polled[:], &timeout, nil); err != nil && !errors.Is(err, unix.EINTR) {
			p.fail(fmt.Errorf("wait for an edge's time: %w", err))
			hostlines.Drop(p.queues)
		}
		var count [8]byte
		_, _ = unix.Read(p.bell, count[:]) // none has rung: EAGAIN
	}
	p.asleep.Store(0)
}

// wake wakes the edge output where it would sleep beyond a time.
func (p *charEdgeOutput) wake(at signal.Time) {
	if until := p.asleep.Load(); until > 0 && signal.Time(until) > at-spinBefore {
		_, _ = unix.Write(p.bell, []byte{1, 0, 0, 0, 0, 0, 0, 0}) // full: it rings already
	}
}

// do has something done between two changes and waits for it.
func (p *charEdgeOutput) do(last bool, do func(now signal.Time)) {
	p.Ask(last, do, func() { p.wake(math.MinInt64 / 2) })
}
