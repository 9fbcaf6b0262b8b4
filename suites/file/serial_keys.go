package file

import (
	"slices"

	"hilrig/rig/trace"
	"hilrig/suites/language"
)

var portTable = language.NewTable("a serial port", "", []language.Key{
	{Name: "port", Kind: language.Text, Required: true, Example: "yaw_serial", Doc: "name, lower case with underscores"},
	{Name: "baud", Kind: language.Measure, Quantity: language.Symbols, Required: true, Least: "300 Bd", Most: "12000000 Bd", Doc: "bits a second on the line"},
	{Name: "parity", Kind: language.Word, Words: []string{"none", "even", "odd"}, Doc: "left out: none"},
	{Name: "stop_bits", Kind: language.Whole, Least: "1", Most: "2", Doc: "left out: 1"},
	{Name: "inverted", Kind: language.Flag, Doc: "idle low, start bit high; left out: no"},
	{Name: "device", Kind: language.Text, Example: "/dev/ttyAMA0", Doc: "the port's device file, on a Raspberry Pi"},
	{Name: "pin", Kind: language.Pin, Example: "GPIO14", Doc: "the pin that it sends on; with a USB adapter, the pin that reads its wire back; left out: GPIO14, or none with a USB adapter"},
	{Name: "frames", Kind: language.Group, Many: language.List, Required: true, Forms: frameForms, Doc: "the messages on this port"},
})

// frameForms are the kinds of message, known by the key that names them.
var frameForms = []language.Form{
	{Has: []string{"reply_to"}, Table: replyTable},
	{Has: []string{"nmea"}, Table: sentenceTable},
	{Has: []string{"fields"}, Table: frameTable},
}

var (
	frameRateKey   = language.Key{Name: "rate", Kind: language.Measure, Quantity: language.Frequency, Required: true, Least: "0.1 Hz", Most: "10 kHz", Doc: "frames a second"}
	frameFieldsKey = language.Key{Name: "fields", Kind: language.Group, Many: language.List, Required: true, Forms: fieldForms, Doc: "the parts of a frame, in order of transmission"}
	stuffingKey    = language.Key{Name: "stuffing", Kind: language.Group, Words: []string{"slip", "cobs"}, Table: stuffingTable, Doc: "how the bytes are packed so that the frame's end can be told; slip is RFC 1055, cobs has delimiter 0x00; left out: not at all"}
)

var frameTable = language.NewTable("a frame", "", []language.Key{frameRateKey, frameFieldsKey, stuffingKey})

var replyTable = language.NewTable("a frame on request", "All frames of its port have to be on request.", []language.Key{
	{Name: "reply_to", Kind: language.Whole, Many: language.List, Required: true, Least: "0", Most: "255", Doc: "the bytes by which the board asks for it, [0x52, 0x01]"},
	{Name: "after", Kind: language.Measure, Quantity: language.Duration, Least: "10 us", Most: "1 s", Example: "200 us", Doc: "from the end of the request's last stop bit to the frame's start; left out: 100 us"},
	frameFieldsKey, stuffingKey,
})

var sentenceTable = language.NewTable("a sentence", "NMEA 0183, with the speed from channel speed. Course and position follow the car; place, date and time are invented and begin with the run.", []language.Key{
	{Name: "nmea", Kind: language.Word, Required: true, Words: []string{"rmc", "vtg"}, Doc: "the sentence"},
	frameRateKey,
	{Name: "talker", Kind: language.Text, Example: "GP", Doc: "two capital letters; left out: GP"},
	{Name: "noise", Kind: language.Measure, Quantity: language.Speed, Least: "0 m/s", Most: "10 m/s", Example: "0.05 m/s", Doc: "of the speed, rms; never less than 0.01 knots"},
})

var stuffingTable = language.NewTable("byte stuffing", "The delimiter ends a frame. Within it the delimiter goes as escape and delimiter_as, the escape as escape and escape_as.", []language.Key{
	byteKey("delimiter", "0x7E", "the byte that ends a frame"),
	byteKey("escape", "0x7D", "the byte before one that stands for another"),
	byteKey("delimiter_as", "0x5E", "what stands behind the escape for the delimiter"),
	byteKey("escape_as", "0x5D", "what stands behind the escape for itself"),
	{Name: "leading", Kind: language.Flag, Doc: "a delimiter before the frame too; left out: no"},
})

func byteKey(name, example, doc string) language.Key {
	return language.Key{Name: name, Kind: language.Whole, Required: true, Least: "0", Most: "255", Example: example, Doc: doc}
}

// fieldForms are the kinds of field, known by the key that names them.
var fieldForms = []language.Form{
	{Has: []string{"bytes"}, Table: constantTable},
	{Has: []string{"sequence"}, Table: sequenceTable},
	{Has: []string{"channel"}, Table: integerTable, Of: integerTableOf},
	{Has: []string{"packed"}, Table: packedTable},
	{Has: []string{"check"}, Table: checkTable},
}

var packedTable = language.NewTable("a field of packed bits", "", []language.Key{
	{Name: "packed", Kind: language.Group, Many: language.List, Required: true, Forms: partForms, Doc: "the parts, one behind the other; together they fill whole bytes"},
	{Name: "first", Kind: language.Word, Words: []string{"high", "low"}, Doc: "the bit of each byte, and of each part, that comes first; left out: high"},
})

var bitsKey = language.Key{Name: "bits", Kind: language.Whole, Required: true, Least: "1", Most: "64", Example: "11", Doc: "how many bits it takes"}

// partForms are the kinds of part of a field of packed bits.
var partForms = []language.Form{
	{Has: []string{"channel"}, Table: partTable, Of: integerTableOfPart},
	{Has: []string{"sequence"}, Table: partSequenceTable},
	{Has: []string{"bits"}, Table: partConstantTable},
}

var partTable = language.NewTable("a part that carries a channel", integerTable.Doc, append([]language.Key{bitsKey, {Name: "signed", Kind: language.Flag, Doc: "two's complement; left out: no"}}, withoutKeys(integerTable.Keys, "as", "order")...))

var partSequenceTable = language.NewTable("a part that counts frames", "", []language.Key{bitsKey, {Name: "sequence", Kind: language.Flag, Required: true, Doc: "it counts frames, modulo its size"}})

var partConstantTable = language.NewTable("a constant part", "", []language.Key{bitsKey, {Name: "value", Kind: language.Whole, Least: "0", Example: "0", Doc: "left out: 0"}})

// withoutKeys returns the keys but those with these names.
func withoutKeys(keys []language.Key, names ...string) []language.Key {
	return slices.DeleteFunc(slices.Clone(keys), func(k language.Key) bool { return slices.Contains(names, k.Name) })
}

var constantTable = language.NewTable("a field of constant bytes", "", []language.Key{{Name: "bytes", Kind: language.Whole, Many: language.List, Required: true, Least: "0", Most: "255", Doc: "the bytes, [0xA5, 0x5A]"}})

var orderKey = language.Key{Name: "order", Kind: language.Word, Words: []string{"big", "little"}, Doc: "byte that comes first; left out: big"}

var sequenceTable = language.NewTable("a sequence field", "", []language.Key{
	{Name: "sequence", Kind: language.Word, Required: true, Words: []string{"u8", "u16", "u24", "u32", "u64"}, Doc: "counts frames, modulo its size"},
	orderKey,
})

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
func channelQuantity(c trace.Channel) (q language.Quantity, ok bool) {
	switch c {
	case trace.Speed, trace.LateralSpeed:
		return language.Speed, true
	case trace.YawRate, trace.WheelFrontLeft, trace.WheelFrontRight, trace.WheelRearLeft, trace.WheelRearRight:
		return language.AngularRate, true
	case trace.Steer, trace.Heading:
		return language.Angle, true
	case trace.Throttle, trace.Gain:
		return language.Share, true
	case trace.LongitudinalAccel, trace.LateralAccel:
		return language.Acceleration, true
	}
	return 0, false
}

// sensedQuantities are the units that a sensor's numbers may have, besides those
// of a yaw rate.
var sensedQuantities = []language.Quantity{language.Angle, language.Share, language.Speed, language.Acceleration}

// integerTable's scale, offset, noise and range are in the unit of the channel;
// their quantity is set by [integerTableOf].
var integerTable = language.NewTable("a field that carries a channel", "raw = round((value - offset) / scale), clipped to range and to the integer.", []language.Key{
	{Name: "channel", Kind: language.Word, Required: true, Words: sensed, Example: "yaw_rate", Doc: "what it carries"},
	{Name: "as", Kind: language.Word, Required: true, Words: []string{"u8", "i8", "u16", "i16", "u24", "i24", "u32", "i32", "u64", "i64", "f32", "f64"}, Example: "i16", Doc: "the integer, or the float of IEEE 754"},
	orderKey,
	{Name: "scale", Kind: language.Measure, Quantity: language.AngularRate, Also: sensedQuantities, Required: true, Example: "0.0625 deg/s", Doc: "what one count stands for; a float's may be left out: 1 of the SI unit"},
	{Name: "offset", Kind: language.Measure, Quantity: language.AngularRate, Also: sensedQuantities, Doc: "what 0 counts stand for; left out: 0"},
	{Name: "noise", Kind: language.Measure, Quantity: language.AngularRate, Also: sensedQuantities, Doc: "the sensor's noise, rms; never less than one count; a float needs it"},
	{Name: "range", Kind: language.Measure, Quantity: language.AngularRate, Also: sensedQuantities, Many: language.Pair, Doc: "the sensor's range; left out: all that the number holds"},
})

// integerTableOf returns integerTable in the unit of the channel that n names.
func integerTableOf(n *language.Node) *language.Table {
	t := inChannelsUnit(integerTable, n)
	if as := n.Get("as"); as != nil && (as.Text == "f32" || as.Text == "f64") {
		t.Keys = slices.Clone(t.Keys)
		t.Key("scale").Required = false
		t.Key("noise").Required = true
	}
	return t
}

// integerTableOfPart does the same for a part of packed bits.
func integerTableOfPart(n *language.Node) *language.Table { return inChannelsUnit(partTable, n) }

// inChannelsUnit returns a copy of a table in the unit of the channel that n names.
func inChannelsUnit(of *language.Table, n *language.Node) *language.Table {
	t := *of
	c, ok := trace.ChannelNamed(n.Get("channel").Text)
	if !ok {
		return &t
	}
	q, _ := channelQuantity(c)
	t.Keys = slices.Clone(t.Keys)
	for i := range t.Keys {
		if t.Keys[i].Kind == language.Measure {
			t.Keys[i].Also = nil
			if t.Keys[i].Quantity != q {
				t.Keys[i].Quantity, t.Keys[i].Example = q, ""
			}
		}
	}
	return &t
}

var checkTable = language.NewTable("a check field", "", []language.Key{
	{Name: "check", Kind: language.Word, Required: true, Words: []string{"sum8", "xor8", "crc8", "crc16"}, Doc: "the sum"},
	{Name: "from", Kind: language.Whole, Least: "0", Most: "1023", Doc: "first byte covered, the frame's first is 0; left out: 0"},
	{Name: "to", Kind: language.Whole, Least: "1", Most: "1024", Doc: "byte behind the last covered; left out: the check itself"},
	{Name: "poly", Kind: language.Whole, Least: "1", Most: "65535", Example: "0x07", Doc: "crc8, crc16: polynomial without its top bit"},
	{Name: "init", Kind: language.Whole, Least: "0", Most: "65535", Doc: "crc8, crc16: initial value; left out: 0"},
	{Name: "xor_out", Kind: language.Whole, Least: "0", Most: "65535", Doc: "crc8, crc16: final xor; left out: 0"},
	{Name: "reflected", Kind: language.Flag, Doc: "crc8, crc16: input and output reflected; left out: no"},
	orderKey,
})
