package wire

import (
	"slices"

	"hilrig/rig/signal"
)

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
	Least, Most         signal.Time // widths are clipped here; 0 means 800 us and 2200 us
	Curve               *Curve      // bends the value before the width; nil: it does not
}

// Frame declares one message that a serial sensor sends: on a grid of its own, or
// when it is asked.
type Frame struct {
	Port   string      // name of the port, "yaw_serial"
	Period signal.Time // from frame start to frame start; 0 with a Request
	Fields []Field     // in order of transmission; none with a Sentence
	// Sentence, where its kind is set, makes the message a line of text instead.
	Sentence Sentence
	Stuffing Stuffing // how the bytes are packed for the line; the zero value leaves them as they are
	// Request, where there is one, is what the board sends to have the frame sent,
	// 1 to 64 bytes; Delay is from the end of the request's last stop bit to the
	// frame's start, 10 us to 1 s.
	Request []byte
	Delay   signal.Time
	// FailsafeFlag are the bits, of the byte FlagAt before stuffing, counted from 0, by which a
	// receiver says that its link is lost; 0: it has none.
	FailsafeFlag byte
	FlagAt       int
}

// Carrying returns the fields that carry a channel, parts of Bits among them, in
// order. A sentence has none.
func (f *Frame) Carrying() []*Field {
	var list []*Field
	for i := range f.Fields {
		one := &f.Fields[i]
		if one.Kind.Carries() {
			list = append(list, one)
		}
		for j := range one.Parts {
			if part := &one.Parts[j]; one.Kind == Bits && part.Kind.Carries() {
				list = append(list, part)
			}
		}
	}
	return list
}

// Checked says whether the frame has a check that could be wrong.
func (f *Frame) Checked() bool {
	if f.Sentence.Kind != NoSentence {
		return true
	}
	for i := range f.Fields {
		if f.Fields[i].Kind.Checks() {
			return true
		}
	}
	return false
}

// Counts says whether a field of the frame counts frames.
func (f *Frame) Counts() bool {
	for i := range f.Fields {
		one := &f.Fields[i]
		if one.Kind == Sequence || one.Kind == Bits && slices.ContainsFunc(one.Parts, func(p Field) bool { return p.Kind == Sequence }) {
			return true
		}
	}
	return false
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
	Float32 // a channel's value as a number of IEEE 754, 4 bytes
	Float64 // the same with 8 bytes
	Bits    // Parts, one behind the other without regard to bytes
)

// Checks says whether a field of that kind is a check of others.
func (k FieldKind) Checks() bool { return k >= Sum8 && k <= CRC16 }

// Carries says whether a field of that kind carries a channel.
func (k FieldKind) Carries() bool { return k == Integer || k == Float32 || k == Float64 }

// Field is one part of a frame.
type Field struct {
	Kind  FieldKind
	Bytes []byte // Constant

	// Integer, floats and Sequence.
	Size         int    // bytes, 1 to 8; CRC16 is always 2; floats go by their kind
	Signed       bool   // two's complement
	LittleEndian bool   // also for floats and CRC16
	Channel      string // name of the channel, "yaw_rate"
	// raw = (value - Offset) / Scale, clipped to Min..Max of the sensor; an Integer
	// rounds it and clips it to what it holds. Scale, Offset, Min and Max are in the
	// SI unit of the channel; Min = Max = 0 means no range but the field's. Scale 0 of a float is 1.
	Scale, Offset, Min, Max float64
	// Noise is the sensor's noise, rms, in the SI unit of the channel. Less than one least
	// significant bit is taken as one least significant bit. A float has none, and
	// needs a noise of its own.
	Noise float64
	// Exact leaves all noise out, as for a receiver's channels.
	Exact bool
	Curve *Curve // bends the value before it is turned to raw; nil: it does not

	// Bits: the fields packed, each a Constant (of Value), Integer or Sequence of Width bits, 1
	// to 64. Together they fill whole bytes. LowFirst has them begin at the lowest bit of
	// the first byte, each with its own lowest bit; otherwise at the highest, with the highest.
	Parts    []Field
	LowFirst bool
	Width    int    // of a part
	Value    uint64 // of a Constant part

	// Checks. From and To are the bytes covered, [From, To), counted from the
	// frame's start, before stuffing; To 0: up to the check itself.
	From, To int
	// CRC8 and CRC16: polynomial without its top bit, initial value, whether input
	// and output are reflected, and the final xor.
	Poly, Init, XorOut uint16
	Reflected          bool
}
