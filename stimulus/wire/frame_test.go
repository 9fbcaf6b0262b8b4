package wire_test

import (
	"encoding/binary"
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"hilrig/rig/signal"
	"hilrig/stimulus/wire"
)

// still is a source of noise that gives its numbers in turn, then 0.
type still struct{ next []float64 }

func (s *still) Norm() float64 {
	if len(s.next) == 0 {
		return 0
	}
	n := s.next[0]
	s.next = s.next[1:]
	return n
}

const degree = math.Pi / 180

// yawSensor is a frame as a serial yaw-rate sensor may send it.
func yawSensor() wire.Frame {
	return wire.Frame{
		Port: "yaw_serial", Period: 5 * signal.Millisecond,
		Fields: []wire.Field{
			{Kind: wire.Constant, Bytes: []byte{0xAA, 0x55}},
			{Kind: wire.Sequence, Size: 1},
			{Kind: wire.Integer, Size: 2, Signed: true, LittleEndian: true, Channel: "yaw_rate",
				Scale: 0.01 * degree, Min: -300 * degree, Max: 300 * degree, Noise: 0.05 * degree},
			{Kind: wire.Integer, Size: 2, Channel: "lateral_acceleration", Scale: 0.01, Offset: -100},
			{Kind: wire.CRC16, Poly: 0x1021, Init: 0xFFFF, From: 2},
		},
	}
}

func frames(t require.TestingT, cfg wire.Frame, noise wire.Normal, offset signal.Time) *wire.FrameEncoder {
	e, err := wire.NewFrames(cfg, noise, offset)
	require.NoError(t, err)
	return e
}

func TestFrameBytes(t *testing.T) {
	e := frames(t, yawSensor(), &still{}, 700)
	assert.Equal(t, []string{"yaw_rate", "lateral_acceleration"}, e.Channels())
	assert.Equal(t, 9, e.Size())
	assert.EqualValues(t, 700, e.Next())

	got := e.Build([]byte("kept"), []float64{-12.34 * degree, 2.5})
	// -1234 is 0xFB2E; (2.5 + 100)/0.01 is 10250, 0x280A.
	body := []byte{0x00, 0x2E, 0xFB, 0x28, 0x0A}
	crc := wire.NewCRC16(0x1021, 0xFFFF, 0, false).Sum(body)
	want := append([]byte("kept\xAA\x55"), body...)
	want = binary.BigEndian.AppendUint16(want, crc)
	assert.Equal(t, want, got)
	assert.InDelta(t, -12.34*degree, e.Sent(), 1e-12)
	assert.EqualValues(t, 5_000_700, e.Next())

	got = e.Build(nil, []float64{0, 0})
	assert.EqualValues(t, 1, got[2], "sequence")
	e.Skip(12_000_000)
	assert.EqualValues(t, 15_000_700, e.Next())
	e.Skip(15_000_700)
	assert.EqualValues(t, 15_000_700, e.Next())
}

// A heading comes round where its sensor's does.
func TestAHeadingComesRound(t *testing.T) {
	for _, row := range []struct {
		name  string
		field wire.Field
		said  map[float64]float64 // deg
	}{
		{"signed", wire.Field{Size: 2, Signed: true}, map[float64]float64{170: 170, 190: -170, -190: 170, 720: 0}},
		{"unsigned", wire.Field{Size: 2}, map[float64]float64{170: 170, 190: 190, -10: 350, 370: 10}},
		{"its own range", wire.Field{Size: 2, Signed: true, Min: -90 * degree, Max: 270 * degree}, map[float64]float64{260: 260, 280: -80, -100: 260}},
	} {
		f := row.field
		f.Kind, f.Channel, f.Scale = wire.Integer, "heading", 0.01*degree
		for played, said := range row.said {
			e := frames(t, wire.Frame{Period: 1, Fields: []wire.Field{f}}, &still{}, 0)
			e.Build(nil, []float64{played * degree})
			assert.InDelta(t, said, e.Said()[0]/degree, 0.006, "%s, %v deg", row.name, played)
		}
	}
}

func TestFrameSequenceWraps(t *testing.T) {
	e := frames(t, yawSensor(), &still{}, 0)
	var last byte
	for range 258 {
		last = e.Build(nil, nil)[2]
	}
	assert.EqualValues(t, 1, last)
}

func TestFrameClipping(t *testing.T) {
	for _, row := range []struct {
		name  string
		field wire.Field
		value float64
		want  []byte
		sent  float64
	}{
		{"at the sensor's range", wire.Field{Size: 2, Signed: true, Scale: 0.01 * degree, Min: -300 * degree, Max: 300 * degree},
			400 * degree, []byte{0x75, 0x30}, 300 * degree},
		{"at its lower end", wire.Field{Size: 2, Signed: true, Scale: 0.01 * degree, Min: -300 * degree, Max: 300 * degree},
			math.Inf(-1), []byte{0x8A, 0xD0}, -300 * degree},
		{"range within a step", wire.Field{Size: 1, Scale: 3, Max: 11}, 20, []byte{3}, 9},
		{"negative scale", wire.Field{Size: 1, Signed: true, Scale: -1, Min: -5, Max: 7}, 9, []byte{0xF9}, 7},
		{"at the integer", wire.Field{Size: 1, Signed: true, Scale: 1}, 128, []byte{0x7F}, 127},
		{"below the integer", wire.Field{Size: 1, Signed: true, Scale: 1}, -129, []byte{0x80}, -128},
		{"unsigned below", wire.Field{Size: 1, Scale: 1}, -1, []byte{0}, 0},
		{"unsigned above", wire.Field{Size: 1, Scale: 1}, 256, []byte{0xFF}, 255},
		{"three bytes", wire.Field{Size: 3, Signed: true, Scale: 1}, -2, []byte{0xFF, 0xFF, 0xFE}, -2},
		{"eight bytes signed", wire.Field{Size: 8, Signed: true, Scale: 1}, 1e30, []byte{0x7F, 255, 255, 255, 255, 255, 255, 255}, 0x1p63},
		{"eight bytes signed below", wire.Field{Size: 8, Signed: true, Scale: 1}, -1e30, []byte{0x80, 0, 0, 0, 0, 0, 0, 0}, -0x1p63},
		{"eight bytes unsigned", wire.Field{Size: 8, Scale: 1}, 1e30, []byte{255, 255, 255, 255, 255, 255, 255, 255}, 0x1p64},
		{"rounded", wire.Field{Size: 1, Scale: 0.5}, 1.76, []byte{4}, 2},
		{"not a number", wire.Field{Size: 1, Scale: 1, Min: 3, Max: 9}, math.NaN(), []byte{3}, 3},
	} {
		t.Run(row.name, func(t *testing.T) {
			row.field.Kind, row.field.Channel = wire.Integer, "yaw_rate"
			e := frames(t, wire.Frame{Period: 1, Fields: []wire.Field{row.field}}, &still{}, 0)
			assert.Equal(t, row.want, e.Build(nil, []float64{row.value}))
			assert.InDelta(t, row.sent, e.Sent(), 1e-9)
		})
	}
}

// A reading never wraps, whatever the value, and says what Sent says.
func TestFrameNeverWraps(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		f := wire.Field{Kind: wire.Integer, Channel: "yaw_rate", Size: 2, Signed: true, Scale: 0.001}
		f.Max = rapid.Float64Range(0.01, 100).Draw(t, "max")
		f.Min = -f.Max
		value := rapid.Float64().Draw(t, "value")
		e := frames(t, wire.Frame{Period: 1, Fields: []wire.Field{f}}, &still{}, 0)
		raw := int16(binary.BigEndian.Uint16(e.Build(nil, []float64{value})))
		want := min(max(value, f.Min, -32.768), f.Max, 32.767)
		assert.InDelta(t, want, float64(raw)*0.001, 0.001)
		assert.InDelta(t, e.Sent(), float64(raw)*0.001, 1e-9)
	})
}

func TestFrameNoise(t *testing.T) {
	for _, row := range []struct {
		name         string
		scale, noise float64
		want         float64 // raw steps for a draw of 3
	}{
		{"as declared", 0.1, 0.5, 15},
		{"at least one step", 0.1, 0, 3},
		{"at least one step of a negative scale", -0.1, 0.05, -3},
	} {
		t.Run(row.name, func(t *testing.T) {
			f := wire.Field{Kind: wire.Integer, Channel: "yaw_rate", Size: 1, Signed: true, Scale: row.scale, Noise: row.noise}
			e := frames(t, wire.Frame{Period: 1, Fields: []wire.Field{f}}, &still{next: []float64{3}}, 0)
			assert.EqualValues(t, row.want, int8(e.Build(nil, []float64{0})[0]))
		})
	}
}

func TestFrameChecks(t *testing.T) {
	constant := wire.Field{Kind: wire.Constant, Bytes: []byte(check)}
	for _, row := range []struct {
		name   string
		fields []wire.Field
		want   string
	}{
		{"sum", []wire.Field{constant, {Kind: wire.Sum8}}, check + "\xDD"},
		{"exclusive or", []wire.Field{constant, {Kind: wire.Xor8}}, check + "\x31"},
		{"crc8", []wire.Field{constant, {Kind: wire.CRC8, Poly: 0x07}}, check + "\xF4"},
		{"crc16 big-endian", []wire.Field{constant, {Kind: wire.CRC16, Poly: 0x8005, Init: 0xFFFF, Reflected: true}}, check + "\x4B\x37"},
		{"crc16 little-endian", []wire.Field{constant, {Kind: wire.CRC16, Poly: 0x8005, Init: 0xFFFF, Reflected: true, LittleEndian: true}}, check + "\x37\x4B"},
		{"crc8 with a final xor", []wire.Field{constant, {Kind: wire.CRC8, Poly: 0x07, XorOut: 0x55}}, check + "\xA1"},
		{"crc16 with a final xor", []wire.Field{constant, {Kind: wire.CRC16, Poly: 0x1DCF, Init: 0xFFFF, XorOut: 0xFFFF}}, check + "\xA8\x19"},
		{"crc16 reflected with a final xor", []wire.Field{constant, {Kind: wire.CRC16, Poly: 0x1021, Init: 0xFFFF, XorOut: 0xFFFF, Reflected: true, LittleEndian: true}}, check + "\x6E\x90"},
		{"in front", []wire.Field{{Kind: wire.Xor8, From: 1, To: 10}, constant}, "\x31" + check},
		{"part", []wire.Field{constant, {Kind: wire.Sum8, From: 2, To: 4}}, check + "\x67"},
		{"check of a check", []wire.Field{constant, {Kind: wire.Xor8}, {Kind: wire.Xor8}}, check + "\x31\x00"},
	} {
		t.Run(row.name, func(t *testing.T) {
			e := frames(t, wire.Frame{Period: 1, Fields: row.fields}, &still{}, 0)
			assert.Equal(t, row.want, string(e.Build(nil, nil)))
			assert.Zero(t, e.Sent())
		})
	}
}

func TestFrameRefuses(t *testing.T) {
	integer := wire.Field{Kind: wire.Integer, Size: 2, Channel: "yaw_rate", Scale: 1}
	with := func(change func(*wire.Field)) []wire.Field {
		f := integer
		change(&f)
		return []wire.Field{integer, f}
	}
	for _, row := range []struct {
		name   string
		fields []wire.Field
		want   string
	}{
		{"empty", nil, "declare fields"},
		{"too long", []wire.Field{{Bytes: make([]byte, 1025)}}, "1 to 1024 bytes"},
		{"empty constant", []wire.Field{{Kind: wire.Constant}}, "field 1: a constant has no bytes"},
		{"no size", with(func(f *wire.Field) { f.Size = 0 }), "field 2: an integer of 0 bytes"},
		{"too large", with(func(f *wire.Field) { f.Size = 9 }), "write 1 to 8"},
		{"no channel", with(func(f *wire.Field) { f.Channel = "" }), "name one"},
		{"no scale", with(func(f *wire.Field) { f.Scale = 0 }), "scale 0 of yaw_rate"},
		{"tiny scale", with(func(f *wire.Field) { f.Scale = 1e-320 }), "scale"},
		{"offset", with(func(f *wire.Field) { f.Offset = math.Inf(1) }), "offset +Inf"},
		{"noise", with(func(f *wire.Field) { f.Noise = -1 }), "noise -1"},
		{"range", with(func(f *wire.Field) { f.Min, f.Max = 2, 1 }), "the lower end first"},
		{"range that no integer meets", with(func(f *wire.Field) { f.Min, f.Max = 0.2, 0.8 }), "no integer"},
		{"kind", []wire.Field{{Kind: 99}}, "kind 99"},
		{"wide polynomial", []wire.Field{integer, {Kind: wire.CRC8, Poly: 0x107}}, "crc8 with polynomial 0x107"},
		{"no polynomial", []wire.Field{integer, {Kind: wire.CRC16}}, "no polynomial"},
		{"check of nothing", []wire.Field{{Kind: wire.Sum8}, integer}, "covers bytes 0 to 0"},
		{"check beyond the frame", []wire.Field{integer, {Kind: wire.Sum8, To: 4}}, "covers bytes 0 to 4 of 3"},
		{"check before the frame", []wire.Field{integer, {Kind: wire.Sum8, From: -1}}, "covers bytes -1"},
		{"check of itself", []wire.Field{integer, {Kind: wire.CRC16, Poly: 1, To: 3}}, "covers the check at byte 2"},
		{"check of a later check", []wire.Field{{Kind: wire.Sum8, From: 1, To: 4}, integer, {Kind: wire.Sum8, From: 1, To: 2}}, "covers the check at byte 3"},
	} {
		t.Run(row.name, func(t *testing.T) {
			_, err := wire.NewFrames(wire.Frame{Period: 1, Fields: row.fields}, &still{}, 0)
			assert.ErrorContains(t, err, row.want)
		})
	}
	fields := []wire.Field{integer}
	_, err := wire.NewFrames(wire.Frame{Fields: fields}, &still{}, 0)
	assert.ErrorContains(t, err, "frame period")
	_, err = wire.NewFrames(wire.Frame{Period: 1, Fields: fields}, &still{}, -1)
	assert.ErrorContains(t, err, "begin at 0 s or later")
	_, err = wire.NewFrames(wire.Frame{Period: 1, Fields: fields}, nil, 0)
	assert.ErrorContains(t, err, "source of noise")
}

func TestFrameAllocatesNothing(t *testing.T) {
	e := frames(t, yawSensor(), &still{}, 0)
	data := make([]byte, 0, 20)
	values := []float64{1, 2}
	assert.Zero(t, testing.AllocsPerRun(100, func() { data = e.Build(data[:0], values) }))
}

// Whatever is declared is either refused or built, at its full size.
func FuzzFrame(f *testing.F) {
	f.Add([]byte{1, 2, 0, 3, 4, 5, 6}, 0.01, 1.0, 0, 0)
	f.Add([]byte{6, 1, 1}, 1e-300, math.NaN(), 2, 5)
	f.Fuzz(func(t *testing.T, kinds []byte, scale, value float64, from, to int) {
		cfg := wire.Frame{Period: 1}
		for _, k := range kinds {
			cfg.Fields = append(cfg.Fields, wire.Field{
				Kind: wire.FieldKind(k % 8), Bytes: kinds[:min(len(kinds), int(k%4))], Size: int(k>>4) + 1, Signed: k&8 != 0,
				Channel: "speed", Scale: scale, Offset: value, Noise: scale, From: from, To: to, Poly: uint16(k),
			})
		}
		e, err := wire.NewFrames(cfg, &still{next: []float64{value, -value}}, 0)
		if err != nil {
			return
		}
		for range 3 {
			require.Len(t, e.Build(nil, []float64{value}), e.Size())
		}
	})
}
