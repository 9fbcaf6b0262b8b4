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
		r.portName(b, x)
	}
	if x := v.get("baud"); x != nil && float64(p.Baud) != x.number {
		r.problem(x.node, fmt.Sprintf("baud %s is not a whole number", x.node.text), "write it like 115200 Bd")
	}
	bits := 10 + max(p.StopBits-1, 0)
	if p.Parity != signal.NoParity {
		bits++
	}
	busy := 0.0
	for _, f := range v.list("frames") {
		frame, size, ok := r.frame(p.Name, f.table)
		if !ok {
			continue
		}
		b.Wiring.Frames = append(b.Wiring.Frames, frame)
		if p.Baud > 0 {
			busy += float64(size*bits) / float64(p.Baud) / frame.Period.Seconds()
		}
		if busy > 1 && v.has("baud") {
			r.problem(f.table.get("rate").node, fmt.Sprintf("frames of %d bytes at %s need %.0f %% of the line's time at %d Bd", size, f.table.get("rate").node.text, 100*busy, p.Baud), "give a lower rate or a higher baud")
		}
	}
	b.Wiring.Ports = append(b.Wiring.Ports, p)
}

// portName reports a name that is no plain word, or that stands twice.
func (r *reader) portName(b *Bench, x *value) {
	for _, c := range x.word {
		if (c < 'a' || c > 'z') && (c < '0' || c > '9') && c != '_' {
			r.problem(x.node, fmt.Sprintf("port %q is not a plain name", brief(x.word)), "use lower case letters, digits and underscores, like yaw_serial")
			return
		}
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

// frame reads one frame, and returns its size in bytes.
func (r *reader) frame(port string, v *values) (f wire.Frame, size int, ok bool) {
	if v == nil || !v.has("rate") || !v.has("fields") {
		return f, 0, false
	}
	f = wire.Frame{Port: port, Period: signal.FromSeconds(1 / v.number("rate"))}
	ok = true
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
	return f, size, ok
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
	}
	f.Kind = wire.Integer
	f.Channel = v.word("channel")
	f.Size, f.Signed = integerSize(v.word("as"))
	r.scaling(v, &f)
	return f, f.Size
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
// unit, and reports a range that the integer cannot hold.
func (r *reader) scaling(v *values, f *wire.Field) {
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
	if x := v.get("noise"); x != nil && f.Noise < 0 {
		r.problem(x.node, fmt.Sprintf("noise is %s, which is below 0", x.node.text), "write its rms value")
	}
	bounds := v.get("range")
	if bounds == nil || f.Size == 0 || f.Scale == 0 {
		return
	}
	f.Min, f.Max = bounds.list[0].number, bounds.list[1].number
	low, high := integerBounds(f.Size, f.Signed)
	for _, x := range bounds.list {
		// The bound itself may round to a count just outside: half a count is let through.
		if raw := (x.number - f.Offset) / f.Scale; raw < low-0.5 || raw > high+0.5 {
			r.problem(x.node, fmt.Sprintf("range %s is %.0f counts, but %s holds %.0f to %.0f", x.node.text, raw, v.word("as"), low, high),
				fmt.Sprintf("give a larger integer, or a range within %s to %s", q.Format(float64(low*f.Scale)+f.Offset), q.Format(float64(high*f.Scale)+f.Offset)))
		}
	}
}

// integerBounds returns the lowest and highest value of an integer.
func integerBounds(bytes int, signed bool) (low, high float64) {
	if signed {
		half := math.Ldexp(1, 8*bytes-1)
		return -half, half - 1
	}
	return 0, math.Ldexp(1, 8*bytes) - 1
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
