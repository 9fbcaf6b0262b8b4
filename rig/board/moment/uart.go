package moment

import "hilrig/rig/signal"

// uart is a serial receiver: from the edge of a start bit on it looks at its pin in the
// middle of each bit. It takes 8 data bits, the lowest first.
type uart struct {
	baud     int64
	even     bool        // a parity bit follows
	inverted bool        // the pin rests low
	level    bool        // of the pin
	next     signal.Time // when it looks again; never: it waits for a start bit
	start    signal.Time
	bit      int64 // that it looks at next, 0 the start bit
	shift    uint16
}

// newUART returns a receiver whose pin has that level. A line that does not rest is taken up with its
// next start bit.
func newUART(baud int64, even, inverted, level bool) uart {
	return uart{baud: baud, even: even, inverted: inverted, level: level, next: never}
}

// edge takes a change of its pin.
func (u *uart) edge(at signal.Time, level bool) {
	u.level = level
	if u.next == never && level == u.inverted {
		u.start, u.bit, u.shift = at, 0, 0
		u.next = u.middle()
	}
}

// middle returns the time of the middle of the bit that comes next.
func (u *uart) middle() signal.Time {
	return u.start + signal.Time((2*u.bit+1)*int64(signal.Second)/(2*u.baud))
}

// look reads one bit, at the time next. ended says that a byte came to its end; it is good where
// parity and stop bit were right.
func (u *uart) look() (at signal.Time, data byte, good, ended bool) {
	at = u.next
	mark := u.level != u.inverted
	last := int64(9)
	if u.even {
		last = 10
	}
	switch {
	case u.bit == 0 && mark: // a glitch was no start bit
		u.next = never
		return at, 0, false, false
	case u.bit == last:
		u.next = never
		good = mark && (!u.even || evenOnes(u.shift>>1))
		if u.even {
			return at, byte(u.shift >> 1), good, true
		}
		return at, byte(u.shift >> 2), good, true
	case u.bit > 0:
		u.shift >>= 1
		if mark {
			u.shift |= 1 << 9
		}
	}
	u.bit++
	u.next = u.middle()
	return at, 0, false, false
}

// evenOnes says whether an even number of the bits is set.
func evenOnes(x uint16) bool {
	x ^= x >> 8
	x ^= x >> 4
	x ^= x >> 2
	x ^= x >> 1
	return x&1 == 0
}
