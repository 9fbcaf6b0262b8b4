package decode_test

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"hilrig/rig/decode"
	"hilrig/rig/signal"
	"hilrig/rig/trace"
	"hilrig/stimulus/wire"
)

func serial(t require.TestingT, cfg decode.Serial) *decode.SerialBytes {
	d, err := decode.NewSerialBytes(cfg)
	require.NoError(t, err)
	return d
}

// levels returns the edges of a line whose bits of 10 us each are written out.
func levels(bits string, idle bool) []signal.Edge {
	var edges []signal.Edge
	level := idle
	for i, b := range bits {
		if l := b == '1'; l != level {
			level = l
			edges = append(edges, signal.Edge{At: ms + signal.Time(i)*10*us, Level: l})
		}
	}
	return edges
}

func TestSerialBits(t *testing.T) {
	baud := func(s decode.Serial) decode.Serial { s.Baud = 100_000; return s }
	for _, row := range []struct {
		name   string
		cfg    decode.Serial
		bits   string
		want   []float64
		events []trace.EventKind
	}{
		// "A", 0x41, as it stands on an 8N1 line.
		{"8N1", decode.Serial{}, "0100000101", []float64{0x41}, nil},
		{"two bytes back to back", decode.Serial{}, "01000001010011111101", []float64{0x41, 0x7E}, nil},
		{"8E1", decode.Serial{Parity: signal.EvenParity}, "01000001001", []float64{0x41}, nil},
		{"8E1, parity wrong", decode.Serial{Parity: signal.EvenParity}, "01000001011", nil, []trace.EventKind{trace.Corrupt}},
		{"8O1", decode.Serial{Parity: signal.OddParity}, "01000001011", []float64{0x41}, nil},
		{"8O1, parity wrong", decode.Serial{Parity: signal.OddParity}, "01000001001", nil, []trace.EventKind{trace.Corrupt}},
		{"no stop bit", decode.Serial{}, "01000001001111", nil, []trace.EventKind{trace.Corrupt}},
		{"second stop bit low", decode.Serial{StopBits: 2}, "010000010101", nil, []trace.EventKind{trace.Corrupt}},
		{"first stop bit low", decode.Serial{StopBits: 2}, "010000010011", nil, []trace.EventKind{trace.Corrupt}},
		{"8N2", decode.Serial{StopBits: 2}, "01000001011", []float64{0x41}, nil},
		{"held low, then a byte", decode.Serial{}, "0000000000000001101000001011", []float64{0x41}, []trace.EventKind{trace.Corrupt}},
		{"inverted", decode.Serial{Inverted: true}, "1011111010", []float64{0x41}, nil},
	} {
		t.Run(row.name, func(t *testing.T) {
			d := serial(t, baud(row.cfg))
			var out trace.Output
			for _, e := range levels(row.bits, !row.cfg.Inverted) {
				d.Edge(e, &out)
			}
			d.Until(10*ms, &out)
			var got []float64
			for _, f := range out.Frames {
				got = append(got, f.Value)
			}
			assert.Equal(t, row.want, got)
			var events []trace.EventKind
			for _, e := range out.Events {
				events = append(events, e.Kind)
			}
			assert.Equal(t, row.events, events)
		})
	}
}

func TestSerialSpike(t *testing.T) {
	d := serial(t, decode.Serial{Baud: 100_000})
	var out trace.Output
	d.Edge(fall(ms, 0), &out)
	d.Edge(rise(ms+4*us, 0), &out) // before the middle of a start bit
	d.Edge(rise(ms+3*us, 0), &out)
	d.Until(2*ms, &out)
	assert.Empty(t, out.Frames)
	assert.Equal(t, []trace.Event{{At: ms + 4*us, Kind: trace.Backwards}, {At: ms + 5*us, Kind: trace.Short}}, out.Events)
}

func TestSerialRefuses(t *testing.T) {
	for _, row := range []struct {
		cfg  decode.Serial
		want string
	}{
		{decode.Serial{}, "0 baud; write 300 to 12000000"},
		{decode.Serial{Baud: 9600, Parity: 3}, "parity 3"},
		{decode.Serial{Baud: 9600, StopBits: 3}, "3 stop bits"},
	} {
		_, err := decode.NewSerialBytes(row.cfg)
		assert.ErrorContains(t, err, row.want)
	}
}

// What the UART plays is what the decoder reads, and each byte ends where the UART says, with
// pauses, and with a clock that is off by up to 3 %: common practice allows a receiver about that much in
// all, no source.
func TestSerialRoundTrip(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		port := signal.PortSpec{
			Baud:     rapid.SampledFrom([]int{1200, 9600, 100_000, 115_200, 921_600, 11_000_000}).Draw(t, "baud"),
			Parity:   signal.Parity(rapid.IntRange(0, 2).Draw(t, "parity")),
			StopBits: rapid.IntRange(1, 2).Draw(t, "stop bits"),
			Inverted: rapid.Bool().Draw(t, "inverted"),
		}
		u, err := wire.NewUART(port)
		require.NoError(t, err)
		off := rapid.IntRange(-30, 30).Draw(t, "clock off, per mille")
		cfg := decode.Serial{Baud: port.Baud + port.Baud*off/1000, Parity: port.Parity, StopBits: port.StopBits, Inverted: port.Inverted}
		d := serial(t, cfg)
		var out trace.Output
		var sent []byte
		var ends []signal.Time
		at := ms
		for range rapid.IntRange(1, 5).Draw(t, "messages") {
			data := rapid.SliceOfN(rapid.Byte(), 1, 20).Draw(t, "data")
			edges, end := u.Append(nil, at, data)
			for _, e := range edges {
				d.Edge(e, &out)
			}
			sent = append(sent, data...)
			ends = append(ends, end)
			at = end + signal.Time(rapid.Int64Range(0, 1_000_000).Draw(t, "pause"))
		}
		d.Until(at+signal.Second, &out)
		assert.Empty(t, out.Events)
		var got []byte
		for _, f := range out.Frames {
			got = append(got, byte(f.Value))
		}
		require.Equal(t, sent, got)
		if off == 0 {
			assert.InDelta(t, float64(ends[len(ends)-1]), float64(out.Frames[len(out.Frames)-1].End), 2)
		}
	})
}

func TestSerialAllocatesNothing(t *testing.T) {
	d := serial(t, decode.Serial{Baud: 100_000})
	out := trace.Output{Frames: make([]trace.Frame, 0, 10)}
	edges, _ := wire.UART{Baud: 100_000}.Append(nil, 0, []byte{0x55})
	at := signal.Time(0)
	assert.Zero(t, testing.AllocsPerRun(100, func() {
		out.Frames = out.Frames[:0]
		for _, e := range edges {
			e.At += at
			d.Edge(e, &out)
		}
		at += ms
		d.Until(at, &out)
	}))
}

func FuzzSerial(f *testing.F) {
	f.Add(uint64(1), uint16(500), int64(20_000), 100_000, uint8(0))
	f.Add(uint64(2), uint16(500), int64(1<<61), 300, uint8(7))
	f.Fuzz(func(t *testing.T, seed uint64, n uint16, scale int64, baud int, kind uint8) {
		d, err := decode.NewSerialBytes(decode.Serial{
			Baud: baud, Parity: signal.Parity(kind % 3), StopBits: int(kind>>2) % 3, Inverted: kind&128 != 0, Hold: signal.Time(kind>>5&1) * 300 * us,
		})
		if err != nil {
			return
		}
		var out trace.Output
		for i, e := range stream(seed, int(n), max(scale, 1)) {
			d.Edge(e, &out)
			if i%5 == 0 {
				d.Until(e.At+ms, &out)
			}
		}
		if scale < 1<<40 {
			ordered(t, &out)
		}
	})
}
