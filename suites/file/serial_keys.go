package file

import (
	"slices"

	"hilrig/rig/trace"
)

var portTable = Table{
	Name: "a serial port",
	Keys: []Key{
		{Name: "port", Kind: Text, Required: true, Example: "yaw_serial", Doc: "name, lower case with underscores"},
		{Name: "baud", Kind: Measure, Quantity: Symbols, Required: true, Least: "300 Bd", Most: "12000000 Bd", Doc: "bits a second on the line"},
		{Name: "parity", Kind: Word, Words: []string{"none", "even", "odd"}, Doc: "left out: none"},
		{Name: "stop_bits", Kind: Whole, Least: "1", Most: "2", Doc: "left out: 1"},
		{Name: "inverted", Kind: Flag, Doc: "idle low, start bit high; left out: no"},
		{Name: "device", Kind: Text, Example: "/dev/ttyAMA0", Doc: "the port's device file, on a Raspberry Pi"},
		{Name: "pin", Kind: Pin, Example: "GPIO14", Doc: "the pin that it sends on; with a USB adapter, the pin that reads its wire back; left out: GPIO14, or none with a USB adapter"},
		{Name: "frames", Kind: Group, Many: List, Required: true, Table: &frameTable, Doc: "the messages on this port"},
	},
}

var frameTable = Table{
	Name: "a frame",
	Keys: []Key{
		{Name: "rate", Kind: Measure, Quantity: Frequency, Required: true, Least: "0.1 Hz", Most: "10 kHz", Doc: "frames a second"},
		{Name: "fields", Kind: Group, Many: List, Required: true, Forms: fieldForms, Doc: "the parts of a frame, in order of transmission"},
	},
}

// fieldForms are the kinds of field, known by the key that names them.
var fieldForms = []Form{
	{Has: []string{"bytes"}, Table: &constantTable},
	{Has: []string{"sequence"}, Table: &sequenceTable},
	{Has: []string{"channel"}, Table: &integerTable, Of: integerTableOf},
	{Has: []string{"check"}, Table: &checkTable},
}

var constantTable = Table{
	Name: "a field of constant bytes",
	Keys: []Key{{Name: "bytes", Kind: Whole, Many: List, Required: true, Least: "0", Most: "255", Doc: "the bytes, [0xA5, 0x5A]"}},
}

var orderKey = Key{Name: "order", Kind: Word, Words: []string{"big", "little"}, Doc: "byte that comes first; left out: big"}

var sequenceTable = Table{
	Name: "a sequence field",
	Keys: []Key{
		{Name: "sequence", Kind: Word, Required: true, Words: []string{"u8", "u16", "u24", "u32", "u64"}, Doc: "counts frames, modulo its size"},
		orderKey,
	},
}

// sensed lists the channels that a sensor may send.
var sensed = func() []string {
	var words []string
	for c := range trace.Channels {
		if _, ok := channelQuantity(c); ok {
			words = append(words, c.String())
		}
	}
	return words
}()

// channelQuantity returns what a channel measures; ok is false for one that no
// sensor sends.
func channelQuantity(c trace.Channel) (q Quantity, ok bool) {
	switch c {
	case trace.Speed, trace.LateralSpeed:
		return Speed, true
	case trace.YawRate, trace.WheelFrontLeft, trace.WheelFrontRight, trace.WheelRearLeft, trace.WheelRearRight:
		return AngularRate, true
	case trace.Steer, trace.Heading:
		return Angle, true
	case trace.Throttle, trace.Gain:
		return Share, true
	case trace.LongitudinalAccel, trace.LateralAccel:
		return Acceleration, true
	}
	return 0, false
}

// sensedQuantities are the units that a sensor's numbers may have, besides those
// of a yaw rate.
var sensedQuantities = []Quantity{Angle, Share, Speed, Acceleration}

// integerTable's scale, offset, noise and range are in the unit of the channel;
// their quantity is set by [integerTableOf].
var integerTable = Table{
	Name: "a field that carries a channel",
	Doc:  "raw = round((value - offset) / scale), clipped to range and to the integer.",
	Keys: []Key{
		{Name: "channel", Kind: Word, Required: true, Words: sensed, Example: "yaw_rate", Doc: "what it carries"},
		{Name: "as", Kind: Word, Required: true, Words: []string{"u8", "i8", "u16", "i16", "u24", "i24", "u32", "i32", "u64", "i64"}, Example: "i16", Doc: "the integer"},
		orderKey,
		{Name: "scale", Kind: Measure, Quantity: AngularRate, Also: sensedQuantities, Required: true, Example: "0.0625 deg/s", Doc: "what one count stands for"},
		{Name: "offset", Kind: Measure, Quantity: AngularRate, Also: sensedQuantities, Doc: "what 0 counts stand for; left out: 0"},
		{Name: "noise", Kind: Measure, Quantity: AngularRate, Also: sensedQuantities, Doc: "the sensor's noise, rms; never less than one count"},
		{Name: "range", Kind: Measure, Quantity: AngularRate, Also: sensedQuantities, Many: Pair, Doc: "the sensor's range; left out: all that the integer holds"},
	},
}

// integerTableOf returns integerTable in the unit of the channel that n names.
func integerTableOf(n *node) *Table {
	c, ok := trace.ChannelNamed(n.get("channel").text)
	if !ok {
		return &integerTable
	}
	q, _ := channelQuantity(c)
	t := integerTable
	t.Keys = slices.Clone(t.Keys)
	for i := range t.Keys {
		if t.Keys[i].Kind == Measure {
			t.Keys[i].Also = nil
			if t.Keys[i].Quantity != q {
				t.Keys[i].Quantity, t.Keys[i].Example = q, ""
			}
		}
	}
	return &t
}

var checkTable = Table{
	Name: "a check field",
	Keys: []Key{
		{Name: "check", Kind: Word, Required: true, Words: []string{"sum8", "xor8", "crc8", "crc16"}, Doc: "the sum"},
		{Name: "from", Kind: Whole, Least: "0", Most: "1023", Doc: "first byte covered, the frame's first is 0; left out: 0"},
		{Name: "to", Kind: Whole, Least: "1", Most: "1024", Doc: "byte behind the last covered; left out: the check itself"},
		{Name: "poly", Kind: Whole, Least: "1", Most: "65535", Example: "0x07", Doc: "crc8, crc16: polynomial without its top bit"},
		{Name: "init", Kind: Whole, Least: "0", Most: "65535", Doc: "crc8, crc16: initial value; left out: 0"},
		{Name: "xor_out", Kind: Whole, Least: "0", Most: "65535", Doc: "crc8, crc16: final xor; left out: 0"},
		{Name: "reflected", Kind: Flag, Doc: "crc8, crc16: input and output reflected; left out: no"},
		orderKey,
	},
}
