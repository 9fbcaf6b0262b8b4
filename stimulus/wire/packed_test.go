package wire_test

import (
	"encoding/binary"
	"fmt"
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"hilrig/rig/signal"
	"hilrig/stimulus/wire"
)

// Floats are IEEE 754 with either byte order. Source of the bits: the standard
// library's encoding/binary and math.
func TestFloatFields(t *testing.T) {
	cfg := wire.Frame{Period: signal.Millisecond, Fields: []wire.Field{
		{Kind: wire.Float32, Channel: "yaw_rate", Exact: true},
		{Kind: wire.Float32, Channel: "speed", LittleEndian: true, Scale: 0.5, Offset: 1, Exact: true},
		{Kind: wire.Float64, Channel: "yaw_rate", Exact: true},
		{Kind: wire.Float64, Channel: "yaw_rate", LittleEndian: true, Exact: true, Min: -2, Max: 2},
	}}
	e := frames(t, cfg, &still{}, 0)
	require.Equal(t, 24, e.Size())
	b := e.Build(nil, []float64{-3.14159265, 6, 1e-3, 17})
	assert.Equal(t, math.Float32bits(-3.14159265), binary.BigEndian.Uint32(b))
	assert.Equal(t, float32(10), math.Float32frombits(binary.LittleEndian.Uint32(b[4:])), "(6 - 1) / 0.5")
	assert.Equal(t, 1e-3, math.Float64frombits(binary.BigEndian.Uint64(b[8:])))
	assert.Equal(t, 2.0, math.Float64frombits(binary.LittleEndian.Uint64(b[16:])), "clipped at the sensor's range")
	assert.Equal(t, []float64{float64(float32(-3.14159265)), 6, 1e-3, 2}, e.Said())

	b = e.Build(nil, []float64{math.NaN(), math.Inf(1), math.Inf(-1), math.NaN()})
	assert.Zero(t, binary.BigEndian.Uint32(b), "NaN goes as 0")
	assert.Equal(t, float32(math.MaxFloat32), math.Float32frombits(binary.LittleEndian.Uint32(b[4:])), "never infinite")
	assert.Equal(t, -math.MaxFloat64, math.Float64frombits(binary.BigEndian.Uint64(b[8:])))
}

func TestAFloatNeedsItsNoise(t *testing.T) {
	_, err := wire.NewFrames(wire.Frame{Period: 1, Fields: []wire.Field{{Kind: wire.Float32, Channel: "speed"}}}, &still{}, 0)
	assert.ErrorContains(t, err, "field 1: the float of speed has no noise")
	e := frames(t, wire.Frame{Period: 1, Fields: []wire.Field{{Kind: wire.Float32, Channel: "speed", Noise: 0.25}}}, &fixed{2}, 0)
	e.Build(nil, []float64{1})
	assert.Equal(t, 1.5, e.Sent())
}

// fixed gives the same number always.
type fixed struct{ x float64 }

func (f *fixed) Norm() float64 { return f.x }

// Packed parts read back bit by bit, whichever end the bits begin at.
func TestPackedBits(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		low := rapid.Bool().Draw(t, "low first")
		var parts []wire.Field
		var want []uint64
		total := 0
		for range rapid.IntRange(1, 8).Draw(t, "parts") {
			w := rapid.IntRange(1, 33).Draw(t, "width")
			v := rapid.Uint64Range(0, 1<<w-1).Draw(t, "value")
			parts = append(parts, wire.Field{Width: w, Value: v})
			want = append(want, v)
			total += w
		}
		if rest := (8 - total%8) % 8; rest > 0 {
			parts = append(parts, wire.Field{Width: rest})
			want = append(want, 0)
		}
		e := frames(t, wire.Frame{Period: 1, Fields: []wire.Field{
			{Kind: wire.Constant, Bytes: []byte{0xA5}}, {Kind: wire.Bits, Parts: parts, LowFirst: low},
		}}, &still{}, 0)
		b := e.Build(nil, nil)[1:]
		at := 0
		for i, p := range parts {
			var v uint64
			for k := range p.Width {
				if low {
					v |= uint64(b[at/8]>>(at%8)&1) << k
				} else {
					v = v<<1 | uint64(b[at/8]>>(7-at%8)&1)
				}
				at++
			}
			require.Equal(t, want[i], v, "part %d", i)
		}
	})
}

func TestPackedSignedAndSequence(t *testing.T) {
	e := frames(t, wire.Frame{Period: 1, Fields: []wire.Field{{Kind: wire.Bits, Parts: []wire.Field{
		{Kind: wire.Integer, Width: 12, Signed: true, Channel: "yaw_rate", Scale: 1, Exact: true},
		{Kind: wire.Sequence, Width: 4},
	}}, {Kind: wire.Xor8}}}, &still{}, 0)
	assert.Equal(t, unhex(t, "FF E0 1F"), e.Build(nil, []float64{-2}))
	assert.Equal(t, unhex(t, "80 01 81"), e.Build(nil, []float64{-9999}), "clipped to -2048")
	assert.Equal(t, -2048.0, e.Sent())
	for range 14 {
		e.Build(nil, nil)
	}
	assert.Equal(t, unhex(t, "7F F0 8F"), e.Build(nil, []float64{9999}), "the sequence wraps at 16")
}

func TestPackedErrors(t *testing.T) {
	for _, row := range []struct {
		name  string
		parts []wire.Field
		want  string
	}{
		{"nothing", nil, "parts of 0 bits"},
		{"not whole bytes", []wire.Field{{Width: 11}}, "parts of 11 bits"},
		{"width", []wire.Field{{Width: 65}}, "part 1: 65 bits"},
		{"value", []wire.Field{{Width: 8}, {Width: 8, Value: 256}}, "part 2: 256 does not fit 8 bits"},
		{"float", []wire.Field{{Kind: wire.Float32, Width: 32}}, fmt.Sprintf("part 1: kind %d cannot be packed", wire.Float32)},
		{"channel", []wire.Field{{Kind: wire.Integer, Width: 8, Scale: 1}}, "part 1: an integer has no channel"},
	} {
		_, err := wire.NewFrames(wire.Frame{Period: 1, Fields: []wire.Field{{Kind: wire.Bits, Parts: row.parts}}}, &still{}, 0)
		assert.ErrorContains(t, err, row.want, row.name)
	}
}
