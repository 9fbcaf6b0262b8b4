package decode

import (
	"cmp"
	"fmt"
	"math"

	"hilrig/rig/signal"
	"hilrig/rig/trace"
	"hilrig/stimulus/wire"
)

// Telemetry declares the serial line on which a speed controller tells of itself: frames of ten
// bytes, the most significant byte of a number first: temperature in degrees Celsius, one byte;
// voltage in 0.01 V; current in 0.01 A; charge in mAh; electrical speed in 100 turns a
// minute, two bytes each; and a checksum, the CRC-8 of polynomial 0x07 from 0 on (common practice
// of such telemetry, no source).
type Telemetry struct {
	Baud      int         // 0 means 115200
	Inverted  bool        // idle low
	Silence   signal.Time // a frame begins after so long a silence, or where another has ended; 0 means the time of one byte
	LostAfter signal.Time // no frame for this long is Lost; 0 means 100 ms
	// Period is from frame to frame, where the controller sends on a grid of its own: with it,
	// frames that did not come are counted one by one. 0: not known.
	Period signal.Time
}

// TelemetryFrame is what a speed controller said of itself.
type TelemetryFrame struct {
	Start, At   signal.Time // its first edge, and the end of its last stop bit
	Uncertainty signal.Time // both may be earlier by this much
	// Temperature is in degrees Celsius, 0 to 255.
	Temperature     float64
	Voltage         float64 // V
	Current         float64 // A
	Charge          float64 // Ah, used since power-up
	ElectricalSpeed float64 // rad/s of the field: of the shaft, times the pairs of poles; it has no sign
}

// TelemetryOutput is all that a line of telemetry gave.
type TelemetryOutput struct {
	Frames []TelemetryFrame // in order of time
	Events []trace.Event    // Corrupt, Uncertain and Lost, in order of time
}

// TelemetryTally counts what came.
type TelemetryTally struct {
	Frames int64
	// Corrupt are frames that were left out: bytes that cannot be read, too few or too many of them, a
	// wrong checksum. A frame of ten zeros has a right one, and is left out too: no supply has 0 V.
	Corrupt int64
	// Uncertain are frames that were left out because the stamps of the rig leave them open: nobody
	// looked for longer than half a bit. They say nothing of the controller.
	Uncertain int64
	// Lost are frames that did not come: with a Period each, otherwise the times of LostAfter
	// without one.
	Lost int64
}

// telemetryBytes is the length of a frame.
const telemetryBytes = 10

// ESCTelemetry reads the frames of a speed controller's telemetry.
type ESCTelemetry struct {
	cfg          Telemetry
	serial       *SerialBytes
	crc          *wire.CRC
	bytes        []SerialByte // room for what one edge gives
	frame        [telemetryBytes]byte
	n            int // bytes of the frame under way
	first        SerialByte
	end          signal.Time // of the last byte
	any          bool        // there was one
	skip         bool        // the rest of this burst is left out
	good         signal.Time // from here the wait for a frame counts
	last         signal.Time // At of the last frame
	seen         bool        // there was one
	bad          int64       // left out since
	began        signal.Time // of the burst, or of the frame within it
	torn         signal.Time // began of the frame that was left out last
	sampledAgain signal.Time // when somebody looked again after longer than half a bit
	lost         bool
	said         signal.Time
	tally        TelemetryTally
}

// NewESCTelemetry returns a decoder for the line that cfg declares, at rest at first. The error
// says which value is out of range.
func NewESCTelemetry(cfg Telemetry) (*ESCTelemetry, error) {
	cfg.Baud = cmp.Or(cfg.Baud, 115200)
	cfg.LostAfter = cmp.Or(cfg.LostAfter, defaultLostAfter)
	serial, err := NewSerialBytes(Serial{Baud: cfg.Baud, Inverted: cfg.Inverted})
	if err != nil {
		return nil, fmt.Errorf("telemetry: %w", err)
	}
	cfg.Silence = cmp.Or(cfg.Silence, serial.Length(1))
	length := serial.Length(telemetryBytes)
	switch {
	case cfg.Silence < 0:
		return nil, fmt.Errorf("telemetry: a silence of %v before a frame; write a time above 0 s", cfg.Silence)
	case cfg.LostAfter <= length:
		return nil, fmt.Errorf("telemetry: a loss after %v is not longer than a frame of %v; write a longer time", cfg.LostAfter, length)
	case cfg.Period != 0 && cfg.Period < length:
		return nil, fmt.Errorf("telemetry: a frame every %v, but each takes %v; write a longer period", cfg.Period, length)
	}
	d := &ESCTelemetry{cfg: cfg, serial: serial, crc: wire.NewCRC8(0x07, 0, 0, false), bytes: make([]SerialByte, 0, 4)}
	d.Reset(0)
	return d, nil
}

// Reset forgets all that was read, the tally included, and begins to wait for a frame at t, the
// line at rest.
func (d *ESCTelemetry) Reset(t signal.Time) {
	d.serial.Reset(t)
	*d = ESCTelemetry{cfg: d.cfg, serial: d.serial, crc: d.crc, bytes: d.bytes[:0], good: t, said: t, torn: t - d.serial.Length(telemetryBytes), sampledAgain: t - signal.Second}
}

// Tally returns what was counted since the last Reset.
func (d *ESCTelemetry) Tally() TelemetryTally { return d.tally }

// Edge takes the line's next edge and appends what it completes.
func (d *ESCTelemetry) Edge(e signal.Edge, out *TelemetryOutput) {
	if signal.Time(e.Uncertainty) > d.serial.halves(1) {
		d.sampledAgain = e.At
	}
	d.bytes = d.serial.Edge(e, d.bytes[:0])
	d.decode(out)
}

// Until tells that the line has kept its level up to t, and appends what is complete.
func (d *ESCTelemetry) Until(t signal.Time, out *TelemetryOutput) {
	d.bytes = d.serial.Until(t, d.bytes[:0])
	d.decode(out)
	if d.n > 0 && t > d.end+d.cfg.Silence+d.serial.Length(1)+settled {
		d.corrupt(d.end, out)
		d.n = 0
	}
	if !d.lost && t-d.good > d.cfg.LostAfter {
		d.lost = true
		if d.cfg.Period == 0 {
			d.tally.Lost++
		}
		d.event(trace.Lost, d.good+d.cfg.LostAfter, out)
	}
}

// decode decodes the bytes that were read.
func (d *ESCTelemetry) decode(out *TelemetryOutput) {
	for _, b := range d.bytes {
		d.byte(b, out)
	}
}

// byte takes the next byte.
func (d *ESCTelemetry) byte(b SerialByte, out *TelemetryOutput) {
	if !d.any || b.Start-d.end > d.cfg.Silence {
		if d.n > 0 {
			d.corrupt(d.end, out)
		}
		d.n, d.skip = 0, false
	}
	if d.n == 0 && !d.skip {
		d.began = b.Start
	}
	d.end, d.any = b.End, true
	switch {
	case d.skip:
		return
	case b.Fault != Sound:
		d.corrupt(b.End, out)
		d.n, d.skip = 0, true
		return
	}
	if d.n == 0 {
		d.first = b
	}
	d.frame[d.n] = b.Value
	if d.n++; d.n < telemetryBytes {
		return
	}
	d.n = 0
	if d.frame == [telemetryBytes]byte{} || byte(d.crc.Sum(d.frame[:telemetryBytes-1])) != d.frame[telemetryBytes-1] {
		d.corrupt(b.End, out)
		d.skip = true
		return
	}
	d.give(b, out)
}

// give gives the frame that ended with b.
func (d *ESCTelemetry) give(b SerialByte, out *TelemetryOutput) {
	two := func(i int) float64 { return float64(uint16(d.frame[i])<<8 | uint16(d.frame[i+1])) }
	out.Frames = append(out.Frames, TelemetryFrame{
		Start: d.first.Start, At: b.End, Uncertainty: max(d.first.Uncertainty, b.Uncertainty),
		Temperature:     float64(d.frame[0]),
		Voltage:         two(1) / 100,
		Current:         two(3) / 100,
		Charge:          two(5) / 1000,
		ElectricalSpeed: two(7) * (100 * 2 * math.Pi / 60),
	})
	d.tally.Frames++
	if d.seen && d.cfg.Period > 0 {
		periods := int64((b.End - d.last + d.cfg.Period/2) / d.cfg.Period)
		d.tally.Lost += max(0, periods-1-d.bad)
	}
	d.last, d.seen, d.bad = b.End, true, 0
	d.good, d.lost = b.End, false
}

// corrupt notes a frame that is left out. Pieces of one frame count once.
func (d *ESCTelemetry) corrupt(at signal.Time, out *TelemetryOutput) {
	length := d.serial.Length(telemetryBytes)
	if d.began < d.torn+length {
		return
	}
	d.torn = d.began
	d.bad++
	if d.sampledAgain >= d.began-length {
		d.tally.Uncertain++
		d.event(trace.Uncertain, at, out)
		return
	}
	d.tally.Corrupt++
	d.event(trace.Corrupt, at, out)
}

// event appends an event, none earlier than the one before it.
func (d *ESCTelemetry) event(k trace.EventKind, at signal.Time, out *TelemetryOutput) {
	d.said = max(d.said, at)
	out.Events = append(out.Events, trace.Event{At: d.said, Kind: k})
}
