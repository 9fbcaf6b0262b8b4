package wire

import "hilrig/rig/signal"

// listener reads the bytes of a serial line by the level in the middle of each bit.
type listener struct {
	uart  UART
	low   bool // the line's level, as if not inverted: low, a 0
	busy  bool // within a byte
	start signal.Time
	bit   int64
	word  uint
}

// until takes the bits whose middles lie before t. It returns a byte that is then
// complete, with the end of its last stop bit; further bits wait for the next call.
func (l *listener) until(t signal.Time) (b byte, end signal.Time, ok bool) {
	n := int64(l.uart.BitsPerByte())
	for l.busy && l.start+l.half(2*l.bit+1) < t {
		if l.bit == 0 && !l.low { // the start bit was none
			l.busy = false
			return 0, 0, false
		}
		if !l.low {
			l.word |= 1 << l.bit
		}
		if l.bit++; l.bit < n {
			continue
		}
		l.busy = false
		b = byte(l.word >> 1)
		return b, l.start + l.half(2*n), l.word == l.uart.word(b)&(1<<n-1)
	}
	return 0, 0, false
}

// edge takes the line's next edge, up to which until was called.
func (l *listener) edge(e signal.Edge) {
	low := e.Level == l.uart.Inverted
	if low && !l.low && !l.busy {
		l.busy, l.start, l.bit, l.word = true, e.At, 0, 0
	}
	l.low = low
}

// half returns the time of so many half bits.
func (l *listener) half(n int64) signal.Time {
	double := 2 * int64(l.uart.Baud)
	return signal.Time((n*int64(signal.Second) + double/2) / double)
}
