package wire

import "fmt"

// StuffingKind says how the bytes of a frame are packed so that the end of a frame
// can be told from its content.
type StuffingKind uint8

// The kinds of stuffing.
const (
	NoStuffing StuffingKind = iota
	// Escaped ends a frame with Delimiter. Within it Delimiter goes as Escape and
	// DelimiterAs, Escape as Escape and EscapeAs.
	Escaped
	// Overhead is consistent overhead byte stuffing with delimiter 0: each stretch of
	// up to 254 bytes without a 0 has its length before it.
	Overhead
)

// Stuffing declares the byte stuffing of a frame; see [SLIP] and [COBS].
type Stuffing struct {
	Kind StuffingKind
	// Leading has a delimiter before the frame too, so that the receiver drops what
	// noise on an idle line gave.
	Leading bool

	// Escaped.
	Delimiter, Escape     byte // two different bytes
	DelimiterAs, EscapeAs byte // two different bytes, neither of them Delimiter
}

// Declared variants. Source of SLIP: J. Romkey, RFC 1055, with a leading END as it
// recommends. Source of COBS: S. Cheshire and M. Baker, Consistent overhead byte
// stuffing, IEEE/ACM Transactions on Networking 7 (1999) 2.
var (
	SLIP = Stuffing{Kind: Escaped, Leading: true, Delimiter: 0xC0, Escape: 0xDB, DelimiterAs: 0xDC, EscapeAs: 0xDD}
	COBS = Stuffing{Kind: Overhead}
)

// check returns what is wrong with s.
func (s Stuffing) check() error {
	switch {
	case s.Kind > Overhead:
		return fmt.Errorf("stuffing of kind %d; use none, escaped or overhead", s.Kind)
	case s.Kind != Escaped:
		return nil
	case s.Delimiter == s.Escape:
		return fmt.Errorf("delimiter and escape are both 0x%02X; write two different bytes", s.Delimiter)
	case s.DelimiterAs == s.EscapeAs:
		return fmt.Errorf("delimiter and escape both go as 0x%02X; write two different bytes", s.DelimiterAs)
	case s.DelimiterAs == s.Delimiter || s.EscapeAs == s.Delimiter:
		return fmt.Errorf("an escaped byte goes as 0x%02X, the delimiter itself; write another byte", s.Delimiter)
	}
	return nil
}

// longest returns the greatest length of n bytes once they are stuffed.
func (s Stuffing) longest(n int) int {
	total := n
	switch s.Kind {
	case NoStuffing:
		return n
	case Escaped:
		total = 2*n + 1
	case Overhead:
		total = n + n/254 + 2
	}
	if s.Leading {
		total++
	}
	return total
}

// Append appends data as it goes on the line, delimiters included, and returns the
// extended slice.
func (s Stuffing) Append(dst, data []byte) []byte {
	switch s.Kind {
	case Escaped:
		return s.escape(dst, data)
	case Overhead:
		return s.overhead(dst, data)
	}
	return append(dst, data...)
}

func (s Stuffing) escape(dst, data []byte) []byte {
	if s.Leading {
		dst = append(dst, s.Delimiter)
	}
	for _, b := range data {
		switch b {
		case s.Delimiter:
			dst = append(dst, s.Escape, s.DelimiterAs)
		case s.Escape:
			dst = append(dst, s.Escape, s.EscapeAs)
		default:
			dst = append(dst, b)
		}
	}
	return append(dst, s.Delimiter)
}

func (s Stuffing) overhead(dst, data []byte) []byte {
	if s.Leading {
		dst = append(dst, 0)
	}
	code := len(dst) // where the length of the present stretch stands
	dst = append(dst, 1)
	for i, b := range data {
		if b != 0 {
			dst = append(dst, b)
			dst[code]++
		}
		if b == 0 || dst[code] == 0xFF && i < len(data)-1 {
			code = len(dst)
			dst = append(dst, 1)
		}
	}
	return append(dst, 0)
}
