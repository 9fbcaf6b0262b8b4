package file

import (
	"fmt"
	"math"
	"slices"
	"strconv"
	"strings"

	"hilrig/rig/trace"
	"hilrig/stimulus/wire"
	"hilrig/suites/language"
)

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

var partConstantTable = language.NewTable("a constant part", "", []language.Key{bitsKey, {Name: "value", Kind: language.Whole, Least: "0", Example: "0", Doc: "the number in these bits; left out: 0"}})

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
	{Name: "channel", Kind: language.Word, Required: true, Words: sensed, Example: "yaw_rate", Doc: "what it carries. A heading is the yaw rate that is played, summed up over the run, or in closed loop the car's: a held yaw_rate turns it. A fault that changes the value of yaw_rate leaves it right; one that loses, freezes or spoils the frames of a port strikes all that they carry. It comes round after a turn: at the ends of range where that is a whole turn, of an unsigned number at its offset, else at 180 deg"},
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
	t.Keys = changed(t.Keys, func(k *language.Key) {
		if k.Kind == language.Measure && k.Quantity != q {
			k.Quantity, k.Example = q, ""
		}
		k.Also = nil
	})
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

// field reads one field that begins at byte at, and returns its size in bytes.
func (r *reader) field(v *language.Mapping, at int) (f wire.Field, size int) {
	f.LittleEndian = v.Word("order") == "little"
	switch {
	case v.Written("bytes"):
		f.Kind = wire.Constant
		for _, x := range v.List("bytes") {
			f.Bytes = append(f.Bytes, byte(x.Whole))
		}
		return f, len(f.Bytes)
	case v.Written("sequence"):
		f.Kind = wire.Sequence
		f.Size, f.Signed = integerSize(v.Word("sequence"))
		return f, f.Size
	case v.Written("check"):
		return r.check(v, f, at)
	case v.Written("packed"):
		return f, r.packed(v, &f)
	}
	f.Channel = v.Word("channel")
	switch as := v.Word("as"); as {
	case "f32":
		f.Kind, size = wire.Float32, 4
	case "f64":
		f.Kind, size = wire.Float64, 8
	default:
		f.Kind = wire.Integer
		f.Size, f.Signed = integerSize(as)
		size = f.Size
	}
	r.scaling(v, &f, v.Word("as"), 8*f.Size)
	return f, size
}

// packed reads a field of packed bits, and returns the bytes that it fills.
func (r *reader) packed(v *language.Mapping, f *wire.Field) int {
	f.Kind, f.LowFirst = wire.Bits, v.Word("first") == "low"
	total := 0
	for _, x := range v.List("packed") {
		if x.Bad {
			continue
		}
		p := r.part(x.Mapping)
		f.Parts = append(f.Parts, p)
		total += p.Width
	}
	if x := v.Get("packed"); x != nil && total%8 != 0 {
		r.Report(x.Node, fmt.Sprintf("the parts have %d bits together, which are no whole bytes", total), fmt.Sprintf("add {bits: %d}", 8-total%8))
	}
	return (total + 7) / 8
}

// part reads one part of a field of packed bits.
func (r *reader) part(v *language.Mapping) wire.Field {
	p := wire.Field{Width: int(v.Whole("bits"))}
	switch {
	case v.Written("channel"):
		p.Kind, p.Channel, p.Signed = wire.Integer, v.Word("channel"), v.Flag("signed")
		r.scaling(v, &p, fmt.Sprintf("a part of %d bits", p.Width), p.Width)
	case v.Written("sequence"):
		p.Kind = wire.Sequence
	default:
		p.Value = uint64(v.Whole("value"))
		if x := v.Get("value"); x != nil && p.Width > 0 && p.Width < 64 && p.Value>>p.Width != 0 {
			r.Report(x.Node, fmt.Sprintf("value %s does not fit %d bits", x.Node.Text, p.Width), "give it more bits")
		}
	}
	return p
}

// integerSize reads "i16" as 2 bytes, signed.
func integerSize(word string) (bytes int, signed bool) {
	bits, err := strconv.Atoi(strings.TrimLeft(word, "ui"))
	if err != nil {
		return 0, false
	}
	return bits / 8, word[0] == 'i'
}

// scaling reads the numbers of a field that carries a channel, in the channel's
// unit, and reports a range that its number, called name, of so many bits cannot hold.
func (r *reader) scaling(v *language.Mapping, f *wire.Field, name string, bits int) {
	c, ok := trace.ChannelNamed(f.Channel)
	if !ok {
		return
	}
	q, _ := channelQuantity(c)
	f.Scale = v.Number("scale")
	f.Offset = v.Number("offset")
	f.Noise = v.Number("noise")
	if x := v.Get("scale"); x != nil && f.Scale == 0 {
		r.Report(x.Node, "scale is 0", "write what one count stands for, like 0.0625 deg/s")
		return
	}
	if x := v.Get("noise"); x != nil && f.Kind != wire.Integer && f.Noise == 0 {
		r.Report(x.Node, "noise is 0, and a float has no least count to stand for it", "write its rms value")
	}
	if x := v.Get("noise"); x != nil && f.Noise < 0 {
		r.Report(x.Node, fmt.Sprintf("noise is %s, which is below 0", x.Node.Text), "write its rms value")
	}
	bounds := v.Get("range")
	if bounds == nil {
		return
	}
	f.Min, f.Max = bounds.List[0].Number, bounds.List[1].Number
	if bits == 0 || f.Scale == 0 || f.Kind != wire.Integer {
		return
	}
	low, high := integerBounds(bits, f.Signed)
	for _, x := range bounds.List {
		// The bound itself may round to a count just outside: half a count is let through.
		if raw := (x.Number - f.Offset) / f.Scale; raw < low-0.5 || raw > high+0.5 {
			r.Report(x.Node, fmt.Sprintf("range %s is %.0f counts, but %s holds %.0f to %.0f", x.Node.Text, raw, name, low, high),
				fmt.Sprintf("give a larger integer, or a range within %s to %s", q.Format(float64(low*f.Scale)+f.Offset), q.Format(float64(high*f.Scale)+f.Offset)))
		}
	}
}

// integerBounds returns the lowest and highest value of an integer of that many bits.
func integerBounds(bits int, signed bool) (low, high float64) {
	if signed {
		half := math.Ldexp(1, bits-1)
		return -half, half - 1
	}
	return 0, math.Ldexp(1, bits) - 1
}

var checkKinds = map[string]wire.FieldKind{"sum8": wire.Sum8, "xor8": wire.Xor8, "crc8": wire.CRC8, "crc16": wire.CRC16}

// check reads a check field that begins at byte at.
func (r *reader) check(v *language.Mapping, f wire.Field, at int) (wire.Field, int) {
	kind, known := checkKinds[v.Word("check")]
	size := 1
	if f.Kind = kind; !known || kind == wire.CRC16 {
		f.Kind, size = wire.CRC16, 2
	}
	f.From, f.To = int(v.Whole("from")), int(v.Whole("to"))
	f.Poly, f.Init, f.XorOut = uint16(v.Whole("poly")), uint16(v.Whole("init")), uint16(v.Whole("xor_out"))
	f.Reflected = v.Flag("reflected")
	to := f.To
	if to == 0 {
		to = at
	}
	if f.From >= to || to > at {
		r.Report(v.Node, fmt.Sprintf("the check covers bytes %d to before %d, but %d bytes stand before it", f.From, to, at), "give from and to within them")
	}
	crc := f.Kind == wire.CRC8 || f.Kind == wire.CRC16
	for _, key := range []string{"poly", "init", "xor_out"} {
		x := v.Get(key)
		switch {
		case x == nil:
		case !crc:
			r.Report(x.Key, fmt.Sprintf("%s has no meaning for %s", key, v.Word("check")), "leave it out")
		case f.Kind == wire.CRC8 && x.Whole > 255:
			r.Report(x.Node, fmt.Sprintf("%s %s is wider than crc8", key, x.Node.Text), "write 0x00 to 0xFF")
		}
	}
	if crc && v.Has("check") && !v.Written("poly") {
		r.Report(v.Node, v.Word("check")+" needs the key poly", "add poly: 0x07")
	}
	return f, size
}
