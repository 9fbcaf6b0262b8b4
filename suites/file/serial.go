package file

import (
	"fmt"
	"math"
	"slices"
	"strconv"
	"strings"

	"hilrig/rig/signal"
	"hilrig/rig/trace"
	"hilrig/stimulus/wire"
	"hilrig/suites/language"
)

// port reads one serial port with its frames, and sees to it that they fit.
func (r *reader) port(b *Bench, v *language.Mapping) {
	if v == nil {
		return
	}
	p := signal.PortSpec{
		Name:     v.Word("port"),
		Baud:     int(v.Number("baud")),
		Parity:   signal.Parity(max(slices.Index([]string{"none", "even", "odd"}, v.Word("parity")), 0)),
		StopBits: int(v.Whole("stop_bits")),
		Inverted: v.Flag("inverted"),
	}
	if x := v.Get("port"); x != nil {
		b.ports[x.Word] = r.PlaceOf(x.Node)
		r.portName(b, x)
	}
	if x := v.Get("baud"); x != nil && float64(p.Baud) != x.Number {
		r.Report(x.Node, fmt.Sprintf("baud %s is not a whole number", x.Node.Text), "write it like 115200 Bd")
	}
	bits := 10 + max(p.StopBits-1, 0)
	if p.Parity != signal.NoParity {
		bits++
	}
	busy, asked := 0.0, 0
	for _, f := range v.List("frames") {
		if f.Bad {
			continue
		}
		frame, ok := r.frame(p.Name, f.Mapping)
		if !ok {
			continue
		}
		size, ok := r.sized(f.Mapping, frame)
		if !ok {
			continue
		}
		b.Wiring.Frames = append(b.Wiring.Frames, frame)
		if len(frame.Request) > 0 {
			asked++
			continue
		}
		if p.Baud > 0 {
			busy += float64(size*bits) / float64(p.Baud) / frame.Period.Seconds()
		}
		if busy > 1 && v.Has("baud") {
			r.overbooked(f.Mapping, size, busy, p.Baud)
		}
	}
	if n := len(v.List("frames")); asked > 0 && asked < n {
		r.Report(v.Get("frames").Node, fmt.Sprintf("port %s has frames on request and frames at a rate", language.Brief(p.Name)), "give each sort a port of its own")
	}
	b.Wiring.Ports = append(b.Wiring.Ports, p)
	if asked > 0 && len(r.Problems) == 0 {
		if _, err := b.Wiring.Repliers(0); err != nil {
			r.Report(v.Get("frames").Node, err.Error(), "")
		}
	}
}

// overbooked reports a frame for which its port has no time left.
func (r *reader) overbooked(v *language.Mapping, size int, busy float64, baud int) {
	rate := v.Get("rate").Node
	r.Report(rate, fmt.Sprintf("frames of %d bytes at %s need %.0f %% of the line's time at %d Bd", size, rate.Text, 100*busy, baud), "give a lower rate or a higher baud")
}

// quiet is a source of noise for a frame that is only measured.
type quiet struct{}

func (quiet) Norm() float64 { return 0 }

// sized returns the greatest size of a frame on the line in bytes; what is wrong
// with the frame and was not seen before is reported.
func (r *reader) sized(v *language.Mapping, f wire.Frame) (size int, ok bool) {
	e, err := wire.NewFrames(f, quiet{}, 0)
	if err == nil {
		return e.Size(), true
	}
	if len(r.Problems) == 0 {
		r.Report(v.Node, err.Error(), "")
	}
	return 0, false
}

// plainName reports a port's name that is no plain word.
func (r *reader) plainName(x *language.Value) bool {
	for _, c := range x.Word {
		if (c < 'a' || c > 'z') && (c < '0' || c > '9') && c != '_' {
			r.Report(x.Node, fmt.Sprintf("port %q is not a plain name", language.Brief(x.Word)), "use lower case letters, digits and underscores, like yaw_serial")
			return false
		}
	}
	return true
}

// portName reports a name that is no plain word, or that stands twice.
func (r *reader) portName(b *Bench, x *language.Value) {
	if !r.plainName(x) {
		return
	}
	for _, p := range b.Wiring.Ports {
		if p.Name == x.Word {
			r.Report(x.Node, fmt.Sprintf("port %s stands twice", x.Word), "list its frames under one entry")
		}
	}
	l := b.Wiring.Layout()
	l.Ports = nil
	for _, line := range l.Lines {
		if line.Name == x.Word && !slices.ContainsFunc(b.Wiring.Ports, func(p signal.PortSpec) bool { return p.Name == x.Word }) {
			r.Report(x.Node, fmt.Sprintf("port %s has the name of another line", x.Word), "use a name like yaw_serial")
		}
	}
}

// frame reads one message.
func (r *reader) frame(port string, v *language.Mapping) (f wire.Frame, ok bool) {
	f = wire.Frame{Port: port}
	switch {
	case v.Written("reply_to"):
		if !v.Has("reply_to") {
			return f, false
		}
		for _, x := range v.List("reply_to") {
			f.Request = append(f.Request, byte(x.Whole))
		}
		if len(f.Request) > 64 {
			r.Report(v.Get("reply_to").Node, fmt.Sprintf("a request of %d bytes is longer than 64", len(f.Request)), "give its last bytes, by which it can be told")
			return f, false
		}
		f.Delay = v.TimeOr("after", 100*signal.Microsecond)
	case !v.Has("rate"):
		return f, false
	default:
		f.Period = signal.FromSeconds(1 / v.Number("rate"))
	}
	f.Stuffing = r.stuffing(v)
	if v.Written("nmea") {
		return f, r.sentence(v, &f.Sentence)
	}
	return f, r.fields(v, &f)
}

// fields reads the fields of a frame.
func (r *reader) fields(v *language.Mapping, f *wire.Frame) (ok bool) {
	ok = v.Has("fields")
	size := 0
	for _, x := range v.List("fields") {
		if x.Bad {
			ok = false
			continue
		}
		field, n := r.field(x.Mapping, size)
		f.Fields = append(f.Fields, field)
		size += n
	}
	if size > 1024 {
		r.Report(v.Get("fields").Node, fmt.Sprintf("a frame of %d bytes is longer than 1024", size), "")
	}
	return ok
}

// sentence reads a sentence.
func (r *reader) sentence(v *language.Mapping, s *wire.Sentence) (ok bool) {
	s.Kind = wire.RMC
	if v.Word("nmea") == "vtg" {
		s.Kind = wire.VTG
	}
	s.Talker, s.Noise = v.Word("talker"), v.Number("noise")
	if x := v.Get("talker"); x != nil && (len(x.Word) != 2 || strings.ToUpper(x.Word) != x.Word) {
		r.Report(x.Node, fmt.Sprintf("talker %q is not two capital letters", language.Brief(x.Word)), "write it like GP")
		return false
	}
	return v.Has("nmea")
}

// stuffing reads how the bytes of a frame are packed.
func (r *reader) stuffing(v *language.Mapping) wire.Stuffing {
	switch v.Word("stuffing") {
	case "slip":
		return wire.SLIP
	case "cobs":
		return wire.COBS
	}
	own := v.Sub("stuffing")
	if own == nil {
		return wire.Stuffing{}
	}
	b := func(key string) byte { return byte(own.Whole(key)) }
	s := wire.Stuffing{
		Kind: wire.Escaped, Leading: own.Flag("leading"),
		Delimiter: b("delimiter"), Escape: b("escape"), DelimiterAs: b("delimiter_as"), EscapeAs: b("escape_as"),
	}
	for _, pair := range [][2]string{{"delimiter", "escape"}, {"delimiter_as", "escape_as"}, {"delimiter", "delimiter_as"}, {"delimiter", "escape_as"}} {
		if x := own.Get(pair[1]); x != nil && own.Has(pair[0]) && b(pair[0]) == b(pair[1]) {
			r.Report(x.Node, fmt.Sprintf("%s is the same byte as %s", pair[1], pair[0]), "give two different bytes")
		}
	}
	return s
}

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

// check reads a check field that begins at byte at.
func (r *reader) check(v *language.Mapping, f wire.Field, at int) (wire.Field, int) {
	size := 1
	switch v.Word("check") {
	case "sum8":
		f.Kind = wire.Sum8
	case "xor8":
		f.Kind = wire.Xor8
	case "crc8":
		f.Kind = wire.CRC8
	default:
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
