package i2c

import (
	"errors"
	"sync"
	"sync/atomic"

	"periph.io/x/conn/v3/i2c"

	"hilrig/rig/raspberry/realtime"
	"hilrig/rig/signal"
)

// Reading is what came of reading a register once.
type Reading struct {
	Register    int         // index into the reader's registers
	At          signal.Time // the middle of the transfer, in the reader's clock
	Uncertainty signal.Time // half of the transfer's length
	Value       float64     // in the quantity's unit; 0 where Err is not nil
	Raw         int64       // the count
	AtItsEnd    bool        // the count is an end of the register's range
	Same        int         // so many readings in a row before had the same count
	Err         error       // nil where it was read; ErrAbsent where nobody answered
}

// Settings say what a reader reads.
type Settings struct {
	Registers []Register
	Every     signal.Time // from one reading of a register to the next; 0: 5 ms
	Clock     realtime.Clock
}

const (
	usually = 5 * signal.Millisecond
	order   = 12 // of the ring: 1<<order readings wait to be taken, and more are dropped
)

// Reader reads registers of one bus again and again. Take and Close are called by one
// goroutine.
type Reader struct {
	registers []Register
	every     signal.Time
	clock     realtime.Clock
	bus       i2c.Bus
	last      []last
	due       signal.Time

	recorded *realtime.Ring[Reading] // nobody waits for a lock that the other side has
	dropped  atomic.Int64
	ended    chan struct{} // nil: it reads in Take
	over     sync.WaitGroup
}

// last is what a register held when it was read last.
type last struct {
	raw  int64
	same int
	read bool
}

// Start starts reading. The bus is the caller's, to be closed after Close. On a clock brought
// forward by hand Take reads.
func Start(bus i2c.Bus, s Settings) (*Reader, error) {
	if len(s.Registers) == 0 {
		return nil, errors.New("there is no register to be read; name one under bus_sensor")
	}
	for i := range s.Registers {
		if err := s.Registers[i].Check(); err != nil {
			return nil, err
		}
	}
	r := &Reader{registers: s.Registers, every: s.Every, clock: s.Clock, bus: bus, last: make([]last, len(s.Registers)), recorded: realtime.NewRing[Reading](order)}
	if r.every <= 0 {
		r.every = usually
	}
	r.due = r.clock.Now()
	if realtime.ByHand(r.clock) {
		return r, nil
	}
	r.ended = make(chan struct{})
	r.over.Go(r.readOn)
	return r, nil
}

// readOn reads until the reader is closed.
func (r *Reader) readOn() {
	for {
		r.readAll()
		r.clock.SleepUntil(r.due)
		select {
		case <-r.ended:
			return
		default:
		}
	}
}

// readAll reads every register once, and says when the next time is due: on the grid of the first,
// what could not be kept up with left out.
func (r *Reader) readAll() {
	for i := range r.registers {
		one := r.read(i)
		if !r.recorded.Room(1) {
			r.dropped.Add(1)
			continue
		}
		tail := r.recorded.Tail.Load()
		r.recorded.Slot[tail&r.recorded.Mask] = one
		r.recorded.Tail.Store(tail + 1)
	}
	r.due += r.every
	if now := r.clock.Now(); r.due < now {
		r.due += (now - r.due) / r.every * r.every
	}
}

// read reads a register once.
func (r *Reader) read(i int) Reading {
	reg, was := &r.registers[i], &r.last[i]
	from := r.clock.Now()
	raw, err := reg.Read(r.bus)
	half := (r.clock.Now() - from) / 2
	one := Reading{Register: i, At: from + half, Uncertainty: half, Err: err}
	if err != nil {
		*was = last{}
		return one
	}
	if was.read && was.raw == raw {
		was.same++
	} else {
		*was = last{raw: raw, read: true}
	}
	one.Raw, one.Value, one.AtItsEnd, one.Same = raw, reg.Value(raw), reg.AtItsEnd(raw), was.same
	return one
}

// AppendNew appends what was read since the last call, in order of time, and returns the extended
// slice. It does not wait for the bus, but on a clock brought forward by hand, on which it reads
// what is due, once.
func (r *Reader) AppendNew(dst []Reading) []Reading {
	if r.ended == nil && r.clock.Now() >= r.due {
		r.readAll()
	}
	head, tail := r.recorded.Head.Load(), r.recorded.Tail.Load()
	for ; head != tail; head++ {
		dst = append(dst, r.recorded.Slot[head&r.recorded.Mask])
	}
	r.recorded.Head.Store(head)
	return dst
}

// Dropped returns how many readings were dropped as nobody took those before.
func (r *Reader) Dropped() int64 { return r.dropped.Load() }

// Close ends the reading. It waits for a transfer that is under way. It may be called more than once.
func (r *Reader) Close() {
	if r.ended == nil {
		return
	}
	select {
	case <-r.ended:
	default:
		close(r.ended)
	}
	r.over.Wait()
}
