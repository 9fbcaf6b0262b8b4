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
)

// port reads one serial port with its frames, and sees to it that they fit.
func (r *reader) port(b *Bench, v *values) {
	if v == nil {
		return
	}
	p := signal.PortSpec{
		Name:     v.word("port"),
		Baud:     int(v.number("baud")),
		Parity:   signal.Parity(max(slices.Index([]string{"none", "even", "odd"}, v.word("parity")), 0)),
		StopBits: int(v.whole("stop_bits")),
		Inverted: v.flag("inverted"),
	}
	if x := v.get("port"); x != nil {
		b.ports[x.word] = r.standsAt(x)
		r.portName(b, x)
	}
	if x := v.get("baud"); x != nil && float64(p.Baud) != x.number {
		r.problem(x.node, fmt.Sprintf("baud %s is not a whole number", x.node.text), "write it like 115200 Bd")
	}
	bits := 10 + max(p.StopBits-1, 0)
	if p.Parity != signal.NoParity {
		bits++
	}
	busy, asked := 0.0, 0
	for _, f := range v.list("frames") {
		if f.bad {
			continue
		}
		frame, ok := r.frame(p.Name, f.table)
		if !ok {
			continue
		}
		size, ok := r.sized(f.table, frame)
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
		if busy > 1 && v.has("baud") {
			r.overbooked(f.table, size, busy, p.Baud)
		}
	}
	if n := len(v.list("frames")); asked > 0 && asked < n {
		r.problem(v.get("frames").node, fmt.Sprintf("port %s has frames on request and frames at a rate", brief(p.Name)), "give each sort a port of its own")
	}
	b.Wiring.Ports = append(b.Wiring.Ports, p)
	if asked > 0 && len(r.problems) == 0 {
		if _, err := b.Wiring.Repliers(0); err != nil {
			r.problem(v.get("frames").node, err.Error(), "")
		}
	}
}

// overbooked reports a frame for which its port has no time left.
func (r *reader) overbooked(v *values, size int, busy float64, baud int) {
	rate := v.get("rate").node
	r.problem(rate, fmt.Sprintf("frames of %d bytes at %s need %.0f %% of the line's time at %d Bd", size, rate.text, 100*busy, baud), "give a lower rate or a higher baud")
}

// quiet is a source of noise for a frame that is only measured.
type quiet struct{}

func (quiet) Norm() float64 { return 0 }

// sized returns the greatest size of a frame on the line in bytes; what is wrong
// with the frame and was not seen before is reported.
func (r *reader) sized(v *values, f wire.Frame) (size int, ok bool) {
	e, err := wire.NewFrames(f, quiet{}, 0)
	if err == nil {
		return e.Size(), true
	}
	if len(r.problems) == 0 {
		r.problem(v.node, err.Error(), "")
	}
	return 0, false
}

// plainName reports a port's name that is no plain word.
func (r *reader) plainName(x *value) bool {
	for _, c := range x.word {
		if (c < 'a' || c > 'z') && (c < '0' || c > '9') && c != '_' {
			r.problem(x.node, fmt.Sprintf("port %q is not a plain name", brief(x.word)), "use lower case letters, digits and underscores, like yaw_serial")
			return false
		}
	}
	return true
}

// portName reports a name that is no plain word, or that stands twice.
func (r *reader) portName(b *Bench, x *value) {
	if !r.plainName(x) {
		return
	}
	for _, p := range b.Wiring.Ports {
		if p.Name == x.word {
			r.problem(x.node, fmt.Sprintf("port %s stands twice", x.word), "list its frames under one entry")
		}
	}
	l := b.Wiring.Layout()
	l.Ports = nil
	for _, line := range l.Lines {
		if line.Name == x.word && !slices.ContainsFunc(b.Wiring.Ports, func(p signal.PortSpec) bool { return p.Name == x.word }) {
			r.problem(x.node, fmt.Sprintf("port %s has the name of another line", x.word), "use a name like yaw_serial")
		}
	}
}

// frame reads one message.
func (r *reader) frame(port string, v *values) (f wire.Frame, ok bool) {
	f = wire.Frame{Port: port}
	switch {
	case v.written("reply_to"):
		if !v.has("reply_to") {
			return f, false
		}
		for _, x := range v.list("reply_to") {
			f.Request = append(f.Request, byte(x.whole))
		}
		if len(f.Request) > 64 {
			r.problem(v.get("reply_to").node, fmt.Sprintf("a request of %d bytes is longer than 64", len(f.Request)), "give its last bytes, by which it can be told")
			return f, false
		}
		f.Delay = 100 * signal.Microsecond
		if v.has("after") {
			f.Delay = v.time("after")
		}
	case !v.has("rate"):
		return f, false
	default:
		f.Period = signal.FromSeconds(1 / v.number("rate"))
	}
	f.Stuffing = r.stuffing(v)
	if v.written("nmea") {
		return f, r.sentence(v, &f.Sentence)
	}
	return f, r.fields(v, &f)
}

// fields reads the fields of a frame.
func (r *reader) fields(v *values, f *wire.Frame) (ok bool) {
	ok = v.has("fields")
	size := 0
	for _, x := range v.list("fields") {
		if x.bad {
			ok = false
			continue
		}
		field, n := r.field(x.table, size)
		f.Fields = append(f.Fields, field)
		size += n
	}
	if size > 1024 {
		r.problem(v.get("fields").node, fmt.Sprintf("a frame of %d bytes is longer than 1024", size), "")
	}
	return ok
}

// sentence reads a sentence.
func (r *reader) sentence(v *values, s *wire.Sentence) (ok bool) {
	s.Kind = wire.RMC
	if v.word("nmea") == "vtg" {
		s.Kind = wire.VTG
	}
	s.Talker, s.Noise = v.word("talker"), v.number("noise")
	if x := v.get("talker"); x != nil && (len(x.word) != 2 || strings.ToUpper(x.word) != x.word) {
		r.problem(x.node, fmt.Sprintf("talker %q is not two capital letters", brief(x.word)), "write it like GP")
		return false
	}
	return v.has("nmea")
}

// stuffing reads how the bytes of a frame are packed.
func (r *reader) stuffing(v *values) wire.Stuffing {
	switch v.word("stuffing") {
	case "slip":
		return wire.SLIP
	case "cobs":
		return wire.COBS
	}
	own := v.sub("stuffing")
	if own == nil {
		return wire.Stuffing{}
	}
	b := func(key string) byte { return byte(own.whole(key)) }
	s := wire.Stuffing{
		Kind: wire.Escaped, Leading: own.flag("leading"),
		Delimiter: b("delimiter"), Escape: b("escape"), DelimiterAs: b("delimiter_as"), EscapeAs: b("escape_as"),
	}
	for _, pair := range [][2]string{{"delimiter", "escape"}, {"delimiter_as", "escape_as"}, {"delimiter", "delimiter_as"}, {"delimiter", "escape_as"}} {
		if x := own.get(pair[1]); x != nil && own.has(pair[0]) && b(pair[0]) == b(pair[1]) {
			r.problem(x.node, fmt.Sprintf("%s is the same byte as %s", pair[1], pair[0]), "give two different bytes")
		}
	}
	return s
}

// field reads one field that begins at byte at, and returns its size in bytes.
func (r *reader) field(v *values, at int) (f wire.Field, size int) {
	f.LittleEndian = v.word("order") == "little"
	switch {
	case v.written("bytes"):
		f.Kind = wire.Constant
		for _, x := range v.list("bytes") {
			f.Bytes = append(f.Bytes, byte(x.whole))
		}
		return f, len(f.Bytes)
	case v.written("sequence"):
		f.Kind = wire.Sequence
		f.Size, f.Signed = integerSize(v.word("sequence"))
		return f, f.Size
	case v.written("check"):
		return r.check(v, f, at)
	case v.written("packed"):
		return f, r.packed(v, &f)
	}
	f.Channel = v.word("channel")
	switch as := v.word("as"); as {
	case "f32":
		f.Kind, size = wire.Float32, 4
	case "f64":
		f.Kind, size = wire.Float64, 8
	default:
		f.Kind = wire.Integer
		f.Size, f.Signed = integerSize(as)
		size = f.Size
	}
	r.scaling(v, &f, v.word("as"), 8*f.Size)
	return f, size
}

// packed reads a field of packed bits, and returns the bytes that it fills.
func (r *reader) packed(v *values, f *wire.Field) int {
	f.Kind, f.LowFirst = wire.Bits, v.word("first") == "low"
	total := 0
	for _, x := range v.list("packed") {
		if x.bad {
			continue
		}
		p := r.part(x.table)
		f.Parts = append(f.Parts, p)
		total += p.Width
	}
	if x := v.get("packed"); x != nil && total%8 != 0 {
		r.problem(x.node, fmt.Sprintf("the parts have %d bits together, which are no whole bytes", total), fmt.Sprintf("add {bits: %d}", 8-total%8))
	}
	return (total + 7) / 8
}

// part reads one part of a field of packed bits.
func (r *reader) part(v *values) wire.Field {
	p := wire.Field{Width: int(v.whole("bits"))}
	switch {
	case v.written("channel"):
		p.Kind, p.Channel, p.Signed = wire.Integer, v.word("channel"), v.flag("signed")
		r.scaling(v, &p, fmt.Sprintf("a part of %d bits", p.Width), p.Width)
	case v.written("sequence"):
		p.Kind = wire.Sequence
	default:
		p.Value = uint64(v.whole("value"))
		if x := v.get("value"); x != nil && p.Width > 0 && p.Width < 64 && p.Value>>p.Width != 0 {
			r.problem(x.node, fmt.Sprintf("value %s does not fit %d bits", x.node.text, p.Width), "give it more bits")
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
func (r *reader) scaling(v *values, f *wire.Field, name string, bits int) {
	c, ok := trace.ChannelNamed(f.Channel)
	if !ok {
		return
	}
	q, _ := channelQuantity(c)
	f.Scale = v.number("scale")
	f.Offset = v.number("offset")
	f.Noise = v.number("noise")
	if x := v.get("scale"); x != nil && f.Scale == 0 {
		r.problem(x.node, "scale is 0", "write what one count stands for, like 0.0625 deg/s")
		return
	}
	if x := v.get("noise"); x != nil && f.Kind != wire.Integer && f.Noise == 0 {
		r.problem(x.node, "noise is 0, and a float has no least count to stand for it", "write its rms value")
	}
	if x := v.get("noise"); x != nil && f.Noise < 0 {
		r.problem(x.node, fmt.Sprintf("noise is %s, which is below 0", x.node.text), "write its rms value")
	}
	bounds := v.get("range")
	if bounds == nil {
		return
	}
	f.Min, f.Max = bounds.list[0].number, bounds.list[1].number
	if bits == 0 || f.Scale == 0 || f.Kind != wire.Integer {
		return
	}
	low, high := integerBounds(bits, f.Signed)
	for _, x := range bounds.list {
		// The bound itself may round to a count just outside: half a count is let through.
		if raw := (x.number - f.Offset) / f.Scale; raw < low-0.5 || raw > high+0.5 {
			r.problem(x.node, fmt.Sprintf("range %s is %.0f counts, but %s holds %.0f to %.0f", x.node.text, raw, name, low, high),
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
func (r *reader) check(v *values, f wire.Field, at int) (wire.Field, int) {
	size := 1
	switch v.word("check") {
	case "sum8":
		f.Kind = wire.Sum8
	case "xor8":
		f.Kind = wire.Xor8
	case "crc8":
		f.Kind = wire.CRC8
	default:
		f.Kind, size = wire.CRC16, 2
	}
	f.From, f.To = int(v.whole("from")), int(v.whole("to"))
	f.Poly, f.Init, f.XorOut = uint16(v.whole("poly")), uint16(v.whole("init")), uint16(v.whole("xor_out"))
	f.Reflected = v.flag("reflected")
	to := f.To
	if to == 0 {
		to = at
	}
	if f.From >= to || to > at {
		r.problem(v.node, fmt.Sprintf("the check covers bytes %d to before %d, but %d bytes stand before it", f.From, to, at), "give from and to within them")
	}
	crc := f.Kind == wire.CRC8 || f.Kind == wire.CRC16
	for _, key := range []string{"poly", "init", "xor_out"} {
		x := v.get(key)
		switch {
		case x == nil:
		case !crc:
			r.problem(x.key, fmt.Sprintf("%s has no meaning for %s", key, v.word("check")), "leave it out")
		case f.Kind == wire.CRC8 && x.whole > 255:
			r.problem(x.node, fmt.Sprintf("%s %s is wider than crc8", key, x.node.text), "write 0x00 to 0xFF")
		}
	}
	if crc && v.has("check") && !v.written("poly") {
		r.problem(v.node, v.word("check")+" needs the key poly", "add poly: 0x07")
	}
	return f, size
}
