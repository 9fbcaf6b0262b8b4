package wire

import "hilrig/rig/signal"

// Quadrature declares one wheel's incremental encoder.
type Quadrature struct {
	Lines   int  // lines per turn of the wheel, 1 to 100000; four edges a line
	Index   bool // an index pulse once a turn, a quarter of a line wide
	Reverse bool // true: B leads A when the wheel rolls forward
}

// Pulse declares one receiver channel: a pulse of a width that stands for the
// value, once a frame.
type Pulse struct {
	Frame signal.Time // period of the frames
	Low   signal.Time // width that stands for LowValue
	High  signal.Time // width that stands for HighValue
	// LowValue and HighValue are in the SI unit of the channel (share, or rad
	// for steer); between them and beyond, up to Least and Most, the width is linear.
	LowValue, HighValue float64
	Least, Most         signal.Time // widths are clipped here; 0: 800 us and 2200 us
}

// Frame declares one message that a serial sensor sends.
type Frame struct {
	Port   string      // name of the port, "yaw_serial"
	Period signal.Time // from frame start to frame start
	Fields []Field     // in order of transmission
}

// FieldKind says what one part of a frame holds.
type FieldKind uint8

// The kinds of field.
const (
	Constant FieldKind = iota // the bytes of Bytes
	Integer                   // a channel's value as an integer
	Sequence                  // counts frames, modulo its size
	Sum8                      // sum of the bytes covered, modulo 256
	Xor8
	CRC8
	CRC16
)

// Field is one part of a frame.
type Field struct {
	Kind  FieldKind
	Bytes []byte // Constant

	// Integer and Sequence.
	Size         int    // bytes, 1 to 8; CRC16 is always 2
	Signed       bool   // two's complement
	LittleEndian bool   // also for CRC16
	Channel      string // Integer: name of the channel, "yaw_rate"
	// Integer: raw = round((value - Offset) / Scale), clipped to Min..Max of
	// the sensor and to the integer. Scale, Offset, Min and Max are in the SI unit
	// of the channel; Min = Max = 0 means the whole integer.
	Scale, Offset, Min, Max float64
	// Noise is the sensor's noise, rms, in the SI unit of the channel. Less than one least
	// significant bit is taken as one least significant bit.
	Noise float64

	// Checks. From and To are the bytes covered, [From, To), counted from the
	// frame's start; To 0: up to the check itself.
	From, To int
	// CRC8 and CRC16: polynomial without its top bit, initial value, whether input
	// and output are reflected, and the final xor.
	Poly, Init, XorOut uint16
	Reflected          bool
}
