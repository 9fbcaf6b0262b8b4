package decode

import (
	"fmt"
	"math/bits"

	"hilrig/rig/signal"
	"hilrig/rig/trace"
)

// Serial declares an asynchronous serial line: a start bit, 8 data bits, least
// significant first, a parity bit where declared, 1 or 2 stop bits.
type Serial struct {
	Baud     int // bits per second, 300 to 12e6
	Parity   signal.Parity
	StopBits int  // 1 or 2; 0 means 1
	Inverted bool // idle low, start bit high
	// Hold is how late the sampler may tell of an edge: a byte is given this long
	// after its last bit, so that a stall in it is known by then. 0: no stalls.
	Hold signal.Time
}

func (s Serial) check() error {
	switch {
	case s.Baud < 300 || s.Baud > 12_000_000:
		return fmt.Errorf("%d baud; write 300 to 12000000", s.Baud)
	case s.Parity > signal.OddParity:
		return fmt.Errorf("parity %d; write none, even or odd", s.Parity)
	case s.StopBits < 0 || s.StopBits > 2:
		return fmt.Errorf("%d stop bits; write 1 or 2", s.StopBits)
	case s.Hold < 0 || s.Hold > signal.Second:
		return fmt.Errorf("a hold of %v; write 0 to 1 s", s.Hold)
	}
	return nil
}

// SerialBytes reads the bytes of a serial line, by the level in the middle of each
// bit counted from the byte's start edge.
//
// A byte is a frame whose value is 0 to 255, from its start edge to the nominal end
// of its last stop bit. A byte with wrong parity or a low stop bit is a Corrupt
// event; a start bit that is gone at its middle is a Short event. A byte with a bit
// that the sampler left open is an Uncertain event, and so is each after a stall until
// the line has rested for a byte's length, for its start may not be one.
type SerialBytes struct {
	cfg     Serial
	bits    int64 // of one byte, start and stop bits included
	now     signal.Time
	started bool
	low     bool // the line's level now, as if not inverted: low, a 0
	reading bool
	start   signal.Time
	bit     int64       // the next bit to sample, 0 is the start bit
	middle  signal.Time // when
	word    uint        // bits sampled so far

	sampled signal.Time // the last middle
	rest    signal.Time // since when the line is at rest
	blind   bool        // where bytes begin is not known
	open    bool        // the byte has a bit that is not known
	said    signal.Time // time of the last event
}

// NewSerialBytes returns a decoder for the line that cfg declares, at rest. The
// error says which value of cfg is wrong.
func NewSerialBytes(cfg Serial) (*SerialBytes, error) {
	if err := cfg.check(); err != nil {
		return nil, err
	}
	n := int64(10)
	if cfg.Parity != signal.NoParity {
		n++
	}
	if cfg.StopBits == 2 {
		n++
	}
	return &SerialBytes{cfg: cfg, bits: n}, nil
}

// Until tells that the line has kept its level up to t.
func (d *SerialBytes) Until(t signal.Time, out *trace.Output) {
	if d.started && t < d.now {
		return
	}
	d.advance(t-d.cfg.Hold, out)
	d.now, d.started = t, true
}

// advance samples the bits whose middle is before t.
func (d *SerialBytes) advance(t signal.Time, out *trace.Output) {
	for d.reading && d.middle < t {
		d.sample(out)
	}
}

// Edge takes the line's next edge. One earlier than the time known so far is
// dropped, with an event.
func (d *SerialBytes) Edge(e signal.Edge, out *trace.Output) {
	if d.started && e.At < d.now {
		d.event(d.now, trace.Backwards, out)
		return
	}
	late, half := signal.Time(e.Uncertainty), d.half()
	d.advance(e.At-late, out)
	if d.reading && late > 0 && (d.middle < e.At || d.sampled > e.At-late) {
		d.open = true
	}
	d.advance(e.At, out)
	d.now, d.started = e.At, true
	low := e.Level == d.cfg.Inverted
	if low && !d.low && !d.reading {
		if e.At-late-d.rest >= 2*half*signal.Time(d.bits) {
			d.blind = false
		}
		d.reading, d.start = true, e.At
		d.bit, d.word = 0, 0
		d.middle = d.time(1)
		d.open = d.blind || late > half/2
	}
	if late > half {
		d.blind = true
	}
	if !low && (d.low || late > half) {
		d.rest = e.At
	}
	d.low = low
}

// half returns half a bit.
func (d *SerialBytes) half() signal.Time { return signal.Second / signal.Time(2*d.cfg.Baud) }

// time returns the time of half bits after the start edge.
func (d *SerialBytes) time(halves int64) signal.Time {
	double := 2 * int64(d.cfg.Baud)
	return d.start + signal.Time((halves*int64(signal.Second)+double/2)/double)
}

// sample takes the line's level as the next bit.
func (d *SerialBytes) sample(out *trace.Output) {
	d.sampled = d.middle
	if d.bit == 0 && !d.low {
		d.reading = false
		d.wrong(trace.Short, out)
		return
	}
	if !d.low {
		d.word |= 1 << d.bit
	}
	if d.bit++; d.bit < d.bits {
		d.middle = d.time(2*d.bit + 1)
		return
	}
	d.reading = false
	if d.open || !d.sound() {
		d.wrong(trace.Corrupt, out)
		return
	}
	out.Frames = append(out.Frames, trace.Frame{
		Start: d.start,
		End:   d.time(2 * d.bits),
		Value: float64(d.word >> 1 & 0xFF),
	})
}

// wrong tells of a byte that is none, or may be none.
func (d *SerialBytes) wrong(k trace.EventKind, out *trace.Output) {
	if d.open {
		k = trace.Uncertain
	}
	d.event(d.middle, k, out)
}

// event appends an event, none earlier than the one before it.
func (d *SerialBytes) event(at signal.Time, k trace.EventKind, out *trace.Output) {
	d.said = max(d.said, at)
	out.Events = append(out.Events, trace.Event{At: d.said, Kind: k})
}

// sound says whether parity and stop bits of the word are as they should be.
func (d *SerialBytes) sound() bool {
	stop := uint(1) << (d.bits - 1)
	if d.cfg.StopBits == 2 {
		stop |= stop >> 1
	}
	if d.word&stop != stop {
		return false
	}
	ones := bits.OnesCount(d.word >> 1 & 0x1FF) // data and parity
	switch d.cfg.Parity {
	case signal.EvenParity:
		return ones&1 == 0
	case signal.OddParity:
		return ones&1 == 1
	}
	return true
}
