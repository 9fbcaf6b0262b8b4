//go:build linux

package chardev

import (
	"fmt"
	"math"
	"sync"
	"sync/atomic"
	"time"

	"hilrig/rig/raspberry/cdev"
	"hilrig/rig/signal"
)

// charInputs is what a bench asks of the lines whose edges are reported to it; see [cdev.Inputs].
type charInputs interface {
	Await(wait time.Duration) error
	Read(dst []cdev.Event) (int, error)
	Start() uint64
	Close() error
}

// listener turns the kernel's events to edges in order of time. An event comes some
// time after its edge, and those of several lines may overtake each other: the
// listener keeps each until its time is settled, and puts them in order meanwhile.
//
// What the kernel missed it tells as gaps (see signal.Edge). Where numbers are
// missing, on every line, for nobody knows whose they were. Where an event has the
// direction of the one before, as an edge in between whose time is not known.
type listener struct {
	in          charInputs
	clock       func() signal.Time // the bench's
	zero        int64              // its time 0, by the clock of the events
	lines       []signal.Line      // by line of the request
	uncertainty signal.Time
	settle      signal.Time

	mu       sync.Mutex // the reader's goroutine and the bench's use what follows
	raw      []cdev.Event
	pending  []charEvent // read and not settled yet, by time
	level    []bool      // of each line, as reported
	last     []signal.Time
	number   uint32      // the highest of the events that were reported
	sure     signal.Time // its time: what is missing behind it came later
	reported signal.Time // all up to here were reported
	edges    []signal.Edge
	dropped  int // edges that nobody took in time
	count    Count
	failure  error

	closing atomic.Bool
	ended   chan struct{}
}

// charEvent is an event at the bench's time.
type charEvent struct {
	at      signal.Time
	number  uint32
	line    int32 // of the request
	rising  bool
	again   bool // the direction of the event before
	awaited bool // an event with a higher number was reported before it
}

// mostEdges is how many edges are kept for somebody to take.
const mostEdges = 1 << 17

func newListener(in charInputs, lines []signal.Line, clock func() signal.Time, zero int64, uncertainty, settle signal.Time) *listener {
	l := &listener{in: in, clock: clock, zero: zero, lines: lines, uncertainty: uncertainty, settle: settle, ended: make(chan struct{})}
	l.raw = make([]cdev.Event, cdev.MostEvents)
	l.pending = make([]charEvent, 0, 2*cdev.MostEvents)
	l.edges = make([]signal.Edge, 0, mostEdges)
	for i := range lines {
		l.level = append(l.level, in.Start()>>i&1 != 0)
	}
	l.last = make([]signal.Time, len(lines))
	return l
}

// bulk is how long the reader lets events gather before it takes them, far shorter than
// the kernel's buffer lasts.
const bulk = time.Millisecond

// run reads events, so that the kernel's buffer has room, until the listener is closed.
func (l *listener) run() {
	defer close(l.ended)
	for !l.closing.Load() {
		err := l.in.Await(20 * time.Millisecond)
		l.mu.Lock()
		if err != nil && l.failure == nil {
			l.failure = err
		}
		l.look()
		failed := l.failure != nil
		l.mu.Unlock()
		if failed {
			return
		}
		time.Sleep(bulk)
	}
}

// end ends the reader.
func (l *listener) end() {
	l.closing.Store(true)
	<-l.ended
}

// upTo returns the time up to which all edges are reported, after a look.
func (l *listener) upTo() (signal.Time, error) {
	l.mu.Lock()
	defer l.mu.Unlock()
	l.look()
	return l.reported, l.failure
}

// appendReported appends the edges that were reported since the last call, after a look, and returns the
// time up to which it took all.
func (l *listener) appendReported(dst []signal.Edge) (_ []signal.Edge, until signal.Time, err error) {
	l.mu.Lock()
	defer l.mu.Unlock()
	l.look()
	dst = append(dst, l.edges...)
	l.edges = l.edges[:0]
	if n := l.dropped; n > 0 && l.failure == nil {
		l.dropped = 0
		return dst, l.reported, fmt.Errorf("%d edges that were heard were lost, as nobody took them in time", n)
	}
	return dst, l.reported, l.failure
}

// counted returns what was counted so far.
func (l *listener) counted() Count {
	l.mu.Lock()
	defer l.mu.Unlock()
	return l.count
}

// look reads what there is and tells what is settled: an edge before the look began
// has its event in the kernel's buffer by now, save one that is rarer than settle long
// under way. The lock is held.
func (l *listener) look() {
	if l.failure != nil {
		return
	}
	began := l.clock()
	for full := true; full; {
		n, err := l.in.Read(l.raw)
		if err != nil {
			l.failure = err
			return
		}
		for i := range l.raw[:n] {
			l.keep(&l.raw[i])
		}
		full = n == len(l.raw)
	}
	l.tell(max(began-l.settle, l.reported))
}

// keep puts an event where it belongs in time. One with the time of another comes after it.
func (l *listener) keep(e *cdev.Event) {
	if e.Line < 0 || e.Line >= len(l.lines) {
		return
	}
	c := charEvent{at: signal.Time(e.At - l.zero), number: e.Number, line: int32(e.Line), rising: e.Rising, again: e.Repeated}
	l.pending = append(l.pending, c)
	i := len(l.pending) - 1
	for ; i > 0 && l.pending[i-1].at > c.at; i-- {
		l.pending[i] = l.pending[i-1]
	}
	l.pending[i] = c
}

// tell tells the edges up to and including until.
func (l *listener) tell(until signal.Time) {
	n := 0
	for n < len(l.pending) && l.pending[n].at <= until {
		n++
	}
	for i := range l.pending[:n] {
		l.reportOne(&l.pending[i], l.pending[i+1:])
	}
	l.pending = l.pending[:copy(l.pending, l.pending[n:])]
	l.reported = until
}

// reportOne reports the edge of an event, and the gap before it. Later are the events
// after it.
func (l *listener) reportOne(e *charEvent, later []charEvent) {
	at := max(e.at, l.reported)
	if e.at < l.reported {
		l.count.OutOfOrder++
	}
	if l.missing(e, later) > 0 {
		for i := range l.lines {
			l.edge(i, at, at-l.sure+l.uncertainty, l.level[i])
		}
	}
	line := int(e.line)
	if e.again {
		l.count.Repeated++
		l.edge(line, at, at-l.last[line]+l.uncertainty, !e.rising)
	}
	l.edge(line, at, at-e.at+l.uncertainty, e.rising)
	l.level[line], l.last[line] = e.rising, e.at
	if int32(e.number-l.number) >= 0 {
		l.number, l.sure = e.number, e.at
	}
}

// missing returns how many numbers are missing between those reported and an event's, and
// in none of the later events.
func (l *listener) missing(e *charEvent, later []charEvent) int32 {
	n := int32(e.number-l.number) - 1
	if n < 0 { // it was overtaken
		if !e.awaited {
			l.count.Lost-- // and had been given up
		}
		return 0
	}
	for i := 0; i < len(later) && n > 0; i++ {
		if behind := int32(e.number - later[i].number); behind > 0 && !later[i].awaited && int32(later[i].number-l.number) > 0 {
			later[i].awaited = true
			n--
		}
	}
	l.count.Lost += int64(n)
	return n
}

// edge keeps one edge for whoever takes it.
func (l *listener) edge(line int, at, late signal.Time, level bool) {
	if len(l.edges) == cap(l.edges) {
		l.dropped++
		return
	}
	l.edges = append(l.edges, signal.Edge{At: at, Uncertainty: uint32(min(late, math.MaxUint32)), Line: l.lines[line], Level: level})
}
