package wire

import (
	"fmt"
	"math/bits"

	"hilrig/rig/signal"
)

// UART turns bytes to the levels of an asynchronous serial line: a start bit, 8
// data bits, least significant first, a parity bit where declared, 1 or 2 stop
// bits. The line rests high, or low where inverted.
type UART struct {
	Baud     int // bits per second
	Parity   signal.Parity
	StopBits int // 1 or 2; 0 means 1
	Inverted bool
	Line     signal.Line
}

// NewUART returns the UART of a port, or an error that says which of the port's
// values is out of range.
func NewUART(p signal.PortSpec) (UART, error) {
	switch {
	case p.Baud < 300 || p.Baud > 12_000_000:
		return UART{}, fmt.Errorf("port %s: %d baud; write 300 to 12000000", p.Name, p.Baud)
	case p.Parity > signal.OddParity:
		return UART{}, fmt.Errorf("port %s: parity %d; write none, even or odd", p.Name, p.Parity)
	case p.StopBits < 0 || p.StopBits > 2:
		return UART{}, fmt.Errorf("port %s: %d stop bits; write 1 or 2", p.Name, p.StopBits)
	}
	return UART{Baud: p.Baud, Parity: p.Parity, StopBits: p.StopBits, Inverted: p.Inverted, Line: p.Line}, nil
}

// BitsPerByte returns how many bits a byte takes on the line, start and stop
// bits included.
func (u UART) BitsPerByte() int {
	n := 10
	if u.Parity != signal.NoParity {
		n++
	}
	if u.StopBits == 2 {
		n++
	}
	return n
}

// Append appends the edges of data sent back to back from at on, and returns the
// extended slice and the end of the last stop bit. Bit k, counted from at, begins at
// at + k/Baud, rounded to the nanosecond, so that a long message does not drift.
// The line has to be at rest before. With a Baud below 1 nothing is sent.
func (u UART) Append(dst []signal.Edge, at signal.Time, data []byte) ([]signal.Edge, signal.Time) {
	if u.Baud < 1 {
		return dst, at
	}
	n := u.BitsPerByte()
	bit := int64(0) // bits since at
	level := true
	for _, b := range data {
		w := u.word(b)
		for i := range n {
			if l := w>>i&1 != 0; l != level {
				level = l
				dst = append(dst, signal.Edge{At: at + u.time(bit+int64(i)), Line: u.Line, Level: l != u.Inverted})
			}
		}
		bit += int64(n)
	}
	return dst, at + u.time(bit)
}

// Length returns how long n bytes take, sent back to back.
func (u UART) Length(n int) signal.Time { return u.time(int64(n) * int64(u.BitsPerByte())) }

// word returns the bits of one byte in order of transmission from bit 0 on.
func (u UART) word(b byte) uint {
	w := uint(b)<<1 | 0xF<<9
	odd := uint(bits.OnesCount8(b) & 1)
	switch u.Parity {
	case signal.EvenParity:
		w = w&^(1<<9) | odd<<9
	case signal.OddParity:
		w = w&^(1<<9) | (odd^1)<<9
	}
	return w
}

// time returns how long bits take, rounded to the nanosecond.
func (u UART) time(bits int64) signal.Time {
	baud := int64(u.Baud)
	whole, part := bits/baud, bits%baud
	return signal.Time(whole)*signal.Second + signal.Time((part*int64(signal.Second)+baud/2)/baud)
}
