package file

import (
	"fmt"
	"slices"
	"strings"

	"hilrig/rig/signal"
	"hilrig/stimulus/wire"
	"hilrig/suites/language"
)

var portTable = language.NewTable("a serial port", "", []language.Key{
	{Name: "port", Kind: language.Text, Required: true, Example: "yaw_serial", Doc: "lower case with underscores; the driven line that the frames go on has this name, in what a board command is told to drive and in a dump of wires"},
	{Name: "baud", Kind: language.Measure, Quantity: language.Symbols, Required: true, Least: "300 Bd", Most: "12000000 Bd", Doc: "bits a second on the line"},
	{Name: "parity", Kind: language.Word, Words: []string{"none", "even", "odd"}, Doc: "the parity bit of each byte; left out: none"},
	{Name: "stop_bits", Kind: language.Whole, Least: "1", Most: "2", Doc: "how many end each byte; left out: 1"},
	{Name: "inverted", Kind: language.Flag, Doc: "idle low, start bit high; left out: no"},
	deviceKey, devicePinKey,
	{Name: "frames", Kind: language.Group, Many: language.List, Required: true, Forms: frameForms, Doc: "the messages on this port"},
})

// deviceKey and devicePinKey say where a port is on a Raspberry Pi.
var (
	deviceKey    = language.Key{Name: "device", Kind: language.Text, Example: "/dev/ttyAMA0", Doc: "the port's device file, on a Raspberry Pi"}
	devicePinKey = language.Key{Name: "pin", Kind: language.Pin, Example: "GPIO14", Doc: "the pin that it sends on; with a USB adapter, the pin that reads its wire back; left out: GPIO14, or none with a USB adapter"}
)

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
	{Name: "reply_to", Kind: language.Whole, Many: language.List, Required: true, Least: "0", Most: "255", Doc: "the bytes by which the board asks for it, [0x52, 0x01]; they are read from a captured line of their own, named as the port with _request behind it, yaw_serial_request, which stands behind the motors in what a board command is told to capture, and in a dump of wires; on a Raspberry Pi it is the pin after that on which the port sends"},
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
			rate := f.Mapping.NodeAt("rate")
			r.Report(rate, fmt.Sprintf("frames of %d bytes at %s need %.0f %% of the line's time at %d Bd", size, rate.Text, 100*busy, p.Baud), "give a lower rate or a higher baud")
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
