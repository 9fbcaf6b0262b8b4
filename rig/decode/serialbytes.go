package decode

import (
	"cmp"
	"fmt"
	"math/bits"

	"hilrig/rig/signal"
)

// ByteFault says what is wrong with a byte. The zero value is nothing.
type ByteFault uint8

// The faults of a byte.
const (
	Sound         ByteFault = iota
	NoStop                  // a stop bit was not there
	WrongParity             // the parity bit is wrong
	UncertainByte           // the stamps leave one of its bits open
)

// SerialByte is one byte of a captured serial line.
type SerialByte struct {
	Start, End signal.Time // of its start bit, and of its last stop bit
	// Uncertainty says that Start lies in (Start-Uncertainty, Start], and End likewise.
	Uncertainty signal.Time
	Value       byte
	Fault       ByteFault
}

// Serial declares a captured serial line of 8 data bits, least significant first.
type Serial struct {
	Baud     int // bits per second, 300 to 12e6
	Parity   signal.Parity
	StopBits int  // 1 or 2; 0 means 1
	Inverted bool // idle low, start bit high
}

// SerialBytes reads the bytes of a captured serial line, each bit by the level at its middle,
// counted from the edge of the start bit. An edge whose stamp leaves it open on which side of a middle it lies is taken to be where
// two bits meet, as far as the stamp leaves one such place alone. A byte is given with the next edge after the
// middle of its last stop bit, or when half a millisecond has gone by behind it: a sampler that
// stalls tells of it only afterwards.
type SerialBytes struct {
	cfg   Serial
	bits  int64 // of a byte, start and stop bits included
	now   signal.Time
	space bool // the level: not that of rest
	busy  bool
	start signal.Edge
	// The start bit began within early after latest-early: as its stamp says, and what later edges leave of that.
	latest, early signal.Time
	bit           int64 // the next to be decided
	word          uint64
	uncertain     bool
}

// settled is how long after its end a byte counts as complete.
const settled = signal.Millisecond / 2

// NewSerialBytes returns a decoder for the line that cfg declares, at rest at first. The error
// says which value is out of range.
func NewSerialBytes(cfg Serial) (*SerialBytes, error) {
	cfg.StopBits = cmp.Or(cfg.StopBits, 1)
	switch {
	case cfg.Baud < 300 || cfg.Baud > 12_000_000:
		return nil, fmt.Errorf("%d baud; write 300 to 12000000", cfg.Baud)
	case cfg.Parity > signal.OddParity:
		return nil, fmt.Errorf("parity %d; write none, even or odd", cfg.Parity)
	case cfg.StopBits < 1 || cfg.StopBits > 2:
		return nil, fmt.Errorf("%d stop bits; write 1 or 2", cfg.StopBits)
	}
	d := &SerialBytes{cfg: cfg, bits: int64(9 + cfg.StopBits)}
	if cfg.Parity != signal.NoParity {
		d.bits++
	}
	return d, nil
}

// Reset forgets all that was read and begins at t, the line at rest.
func (d *SerialBytes) Reset(t signal.Time) { *d = SerialBytes{cfg: d.cfg, bits: d.bits, now: t} }

// Length returns how long n bytes take, sent back to back.
func (d *SerialBytes) Length(n int) signal.Time { return d.halves(2 * d.bits * int64(n)) }

// halves returns how long so many half bits take.
func (d *SerialBytes) halves(n int64) signal.Time {
	double := 2 * int64(d.cfg.Baud)
	return signal.Time((n*int64(signal.Second) + double/2) / double)
}

// Edge takes the line's next edge and appends the byte that is complete with it. An edge
// earlier than the time known so far makes a byte under way uncertain and is left out.
func (d *SerialBytes) Edge(e signal.Edge, dst []SerialByte) []SerialByte {
	if e.At < d.now {
		d.uncertain = true
		return dst
	}
	d.now = e.At
	space, late := e.Level == d.cfg.Inverted, signal.Time(e.Uncertainty)
	if d.busy {
		at := e.At
		if space != d.space {
			at, late = d.placed(at, late)
		}
		dst = d.decide(at, late, space == d.space, dst)
	}
	if space && !d.space && !d.busy {
		d.busy, d.start, d.bit, d.word, d.uncertain = true, e, 0, 0, false
		d.latest, d.early = e.At, signal.Time(e.Uncertainty)
	}
	d.space = space
	return dst
}

// Until tells that the line has kept its level up to t, and appends the byte that is complete.
func (d *SerialBytes) Until(t signal.Time, dst []SerialByte) []SerialByte {
	if t < d.now {
		return dst
	}
	d.now = t
	if d.busy && t >= d.start.At+d.halves(2*d.bits)+settled {
		dst = d.decide(t, 0, false, dst)
	}
	return dst
}

// placed returns where an edge lies that is stamped at, up to late before which it may lie, within a byte: a sender changes its level
// between two bits alone, so that a stamp that leaves one such place is certain of it. Otherwise the stamp is returned as it is. What is
// certain tells in turn when the start bit began.
func (d *SerialBytes) placed(at, late signal.Time) (signal.Time, signal.Time) {
	bit := d.halves(2)
	if late+d.early == 0 || late >= bit {
		return at, late
	}
	after, before := at-late-d.latest, at-(d.latest-d.early) // since the start bit began
	k := int64((max(after, 0) + bit - 1) / bit)
	if k < 1 || k > d.bits || d.halves(2*k) > before || d.halves(2*k+2) <= before {
		return at, late
	}
	off := d.halves(2*k) / 50 // the sender's clock
	latest := min(d.latest, at-d.halves(2*k)+off)
	earliest := max(d.latest-d.early, at-late-d.halves(2*k)-off)
	if earliest <= latest {
		d.latest, d.early = latest, latest-earliest
	}
	return d.latest - d.early/2 + d.halves(2*k), 0
}

// decide takes the bits that have passed at an edge stamped at, up to late before which it
// may lie; same says that it is no change of level. It appends the byte where that was its last bit.
func (d *SerialBytes) decide(at, late signal.Time, same bool, dst []SerialByte) []SerialByte {
	// Times from the start bit's edge are known to half of both uncertainties.
	origin := d.latest - d.early/2
	middle, open := at-late/2, (late+d.early)/2
	if same { // nobody looked for that long: what was decided before is certain
		hidden := late >= d.halves(2) // a pulse of a bit may be
		dst = d.decide(at-late, 0, false, dst)
		d.uncertain = d.uncertain || hidden
		return dst
	}
	for d.busy {
		sample := origin + d.halves(2*d.bit+1)
		if sample-open < middle && middle <= sample+open && late > 0 {
			d.uncertain = true
		}
		if sample >= middle {
			return dst
		}
		switch {
		case !d.space && d.bit == 0: // the start bit was none
			d.busy = false
			return dst
		case !d.space:
			d.word |= 1 << d.bit
		}
		if d.bit++; d.bit == d.bits {
			d.busy = false
			dst = append(dst, d.complete())
		}
	}
	return dst
}

// complete returns the byte whose bits are all there.
func (d *SerialBytes) complete() SerialByte {
	b := SerialByte{
		Start: d.start.At, End: d.start.At + d.halves(2*d.bits), Uncertainty: signal.Time(d.start.Uncertainty),
		Value: byte(d.word >> 1),
	}
	rest := d.word >> 9
	wrong := false
	if d.cfg.Parity != signal.NoParity {
		odd := uint64(bits.OnesCount8(b.Value) & 1)
		wrong = rest&1 != odd^uint64(d.cfg.Parity-signal.EvenParity)
		rest >>= 1
	}
	stops := uint64(1)<<d.cfg.StopBits - 1
	switch {
	case d.uncertain:
		b.Fault = UncertainByte
	case rest&stops != stops:
		b.Fault = NoStop
	case wrong:
		b.Fault = WrongParity
	}
	return b
}
