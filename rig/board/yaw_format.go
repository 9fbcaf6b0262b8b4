package board

import (
	"fmt"
	"math"

	"hilrig/rig/signal"
)

// YawFormat says how the yaw rate comes where it does not come as on the demo car. The zero value
// stands for the demo car's frame, on line yaw_serial.
type YawFormat struct {
	Line      string // of its port
	OddParity bool   // there is a parity bit
	Even      bool
	Size      int       // of a frame, bytes
	Value     Number    // the yaw rate
	Scale     float64   // rad/s of one count
	Offset    float64   // rad/s at 0 counts
	Count     Number    // the sequence counter; of width 0: there is none
	Constants []Expects // what each frame has
	Checks    []Checksum
	Stuffing  Stuffing
}

// Number is an unsigned or signed number among the bits of a frame. Bits are counted from the
// frame's first; the first of a byte is the highest, or with LowFirst the lowest.
type Number struct {
	Bit, Width int // 1 to 64
	LowFirst   bool
	Signed     bool // two's complement
	Float      bool // IEEE 754, of 32 or 64 bits
}

// Expects is a number with the value that it has in each frame.
type Expects struct {
	Number
	Is uint64
}

// Checksum is a check of the bytes From to To, the last not among them.
type Checksum struct {
	Number
	From, To           int
	Kind               CheckKind
	Poly, Init, XorOut uint64
	Reflected          bool
}

// CheckKind is how a checksum is made.
type CheckKind string

// The kinds of checksum: the sum, the exclusive or, and the remainder by a polynomial of the number's width.
const (
	CheckSum CheckKind = "sum"
	CheckXor CheckKind = "xor"
	CheckCRC CheckKind = "crc"
)

// Stuffing is how a frame's end can be told. The zero value: its bytes come as they are.
type Stuffing struct {
	Kind                                     StuffingKind
	Delimiter, Escape, DelimiterAs, EscapeAs byte
}

// StuffingKind is a way of stuffing.
type StuffingKind string

// The ways: escapes before what may not stand in a frame; or the length of each stretch without a 0 before it.
const (
	StuffingEscapes  StuffingKind = "escapes"
	StuffingOverhead StuffingKind = "overhead"
)

// general says whether the frame is another than the demo car's.
func (y *YawFormat) general() bool { return y.Size > 0 }

// longestYaw is the longest frame that the firmware has room for, bytes.
const longestYaw = 256

// check returns what is wrong with the format.
func (y *YawFormat) check() error {
	if !y.general() {
		return nil
	}
	if y.Size > longestYaw {
		return fmt.Errorf("board settings: a yaw frame of %d bytes; the built-in board has room for %d", y.Size, longestYaw)
	}
	numbers := []Number{y.Value}
	if y.Count.Width > 0 {
		numbers = append(numbers, y.Count)
	}
	for _, c := range y.Constants {
		numbers = append(numbers, c.Number)
	}
	for _, c := range y.Checks {
		if numbers = append(numbers, c.Number); c.From < 0 || c.To > y.Size || c.From > c.To {
			return fmt.Errorf("board settings: a checksum of bytes %d to %d in a yaw frame of %d", c.From, c.To, y.Size)
		}
	}
	for _, n := range numbers {
		if n.Bit < 0 || n.Width < 1 || n.Width > 64 || n.Bit+n.Width > 8*y.Size || n.Float && n.Width != 32 && n.Width != 64 {
			return fmt.Errorf("board settings: a number of %d bits from bit %d in a yaw frame of %d bytes", n.Width, n.Bit, y.Size)
		}
	}
	return nil
}

// bits returns the number's bits.
func (n *Number) bits(frame []byte) (v uint64) {
	for i := range n.Width {
		at := n.Bit + i
		b := frame[at>>3]
		if n.LowFirst {
			v |= uint64(b>>(at&7)&1) << i
		} else {
			v = v<<1 | uint64(b>>(7-at&7)&1)
		}
	}
	return v
}

// value returns the number as what it stands for.
func (n *Number) value(frame []byte) float64 {
	v := n.bits(frame)
	switch {
	case n.Float && n.Width == 32:
		return float64(math.Float32frombits(uint32(v)))
	case n.Float:
		return math.Float64frombits(v)
	case n.Signed:
		return float64(int64(v<<(64-n.Width)) >> (64 - n.Width))
	}
	return float64(v)
}

// sum works the checksum of a frame out.
func (c *Checksum) sum(frame []byte) uint64 {
	mask := uint64(1)<<c.Width - 1
	v := c.Init
	for _, b := range frame[c.From:c.To] {
		switch c.Kind {
		case CheckSum:
			v += uint64(b)
		case CheckXor:
			v ^= uint64(b)
		default:
			v = c.divide(v, b)
		}
	}
	if c.Reflected {
		v = mirrored(v, c.Width)
	}
	return (v ^ c.XorOut) & mask
}

// divide takes one byte into a remainder.
func (c *Checksum) divide(v uint64, b byte) uint64 {
	for i := range 8 {
		bit := uint64(b>>(7-i)) & 1
		if c.Reflected {
			bit = uint64(b>>i) & 1
		}
		if v>>(c.Width-1)&1 != bit {
			v = v<<1 ^ c.Poly
		} else {
			v <<= 1
		}
	}
	return v
}

// mirrored returns the lowest bits of v in the opposite order.
func mirrored(v uint64, width int) (out uint64) {
	for range width {
		out = out<<1 | v&1
		v >>= 1
	}
	return out
}

// yawParser finds the frames of a [YawFormat] among bytes.
type yawParser struct {
	format *YawFormat
	yaw    *yawSensor
	pause  signal.Time // after which a frame without a beginning of its own begins
	buffer [longestYaw + 8]byte
	n      int
	last   signal.Time
	escape bool
}

// parse takes in one byte, complete at the given time.
func (p *yawParser) parse(b byte, at signal.Time) {
	f := p.format
	switch f.Stuffing.Kind {
	case StuffingEscapes:
		p.escaped(b, at)
		return
	case StuffingOverhead:
		if b != 0 {
			p.add(b)
			return
		}
		p.unstuff()
		p.frame(at)
		p.n = 0
		return
	}
	if at-p.last > p.pause {
		p.n = 0
	}
	p.last = at
	p.add(b)
	if p.n < f.Size {
		return
	}
	if p.frame(at) {
		p.n = 0
		return
	}
	copy(p.buffer[:], p.buffer[1:p.n])
	p.n--
}

// add puts a byte behind the others; where there is no room, the frame is none.
func (p *yawParser) add(b byte) {
	if p.n < len(p.buffer) {
		p.buffer[p.n] = b
		p.n++
	}
}

// escaped takes in a byte of a frame with escapes.
func (p *yawParser) escaped(b byte, at signal.Time) {
	s := &p.format.Stuffing
	switch {
	case b == s.Delimiter:
		p.frame(at)
		p.restart()
	case b == s.Escape:
		p.escape = true
	case p.escape && b == s.DelimiterAs:
		p.add(s.Delimiter)
		p.escape = false
	case p.escape && b == s.EscapeAs:
		p.add(s.Escape)
		p.escape = false
	default:
		p.add(b)
	}
}

// unstuff takes the lengths of its stretches out of a frame.
func (p *yawParser) unstuff() {
	out := 0
	for i := 0; i < p.n; {
		length := int(p.buffer[i])
		next := i + length
		if next > p.n {
			p.n = 0
			return
		}
		out += copy(p.buffer[out:], p.buffer[i+1:next])
		if i = next; i < p.n && length < 0xFF {
			p.buffer[out] = 0
			out++
		}
	}
	p.n = out
}

// frame takes in the bytes as a frame, where they are one.
func (p *yawParser) frame(at signal.Time) bool {
	f := p.format
	if p.n != f.Size {
		return false
	}
	frame := p.buffer[:p.n]
	for i := range f.Constants {
		if c := &f.Constants[i]; c.bits(frame) != c.Is {
			return false
		}
	}
	for i := range f.Checks {
		if c := &f.Checks[i]; c.bits(frame) != c.sum(frame) {
			return false
		}
	}
	if f.Count.Width > 0 {
		p.yaw.sequence(f.Count.bits(frame), at)
	}
	value := float64(f.Value.value(frame)*f.Scale) + f.Offset
	if !(math.Abs(value) < 2000) {
		return true // no number of this sensor
	}
	p.yaw.updateRaw(int32(rounded(value/yawUnit)), at)
	return true
}

// yawUnit is what the firmware counts such a yaw rate in, rad/s.
const yawUnit = 1e-6

// restart forgets the bytes of a frame that was not whole.
func (p *yawParser) restart() { p.n, p.escape = 0, false }
