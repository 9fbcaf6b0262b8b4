package decode_test

import (
	"cmp"
	"slices"
	"testing"

	"github.com/stretchr/testify/require"

	"hilrig/rig/decode"
	"hilrig/rig/signal"
	"hilrig/rig/trace"
	"hilrig/stimulus/wire"
)

// BenchmarkServo reads one pulse, two edges.
func BenchmarkServo(b *testing.B) {
	d := servo(b, oneWay())
	out := trace.Output{Frames: make([]trace.Frame, 0, 1)}
	at := signal.Time(0)
	b.ReportAllocs()
	for b.Loop() {
		out.Frames = out.Frames[:0]
		d.Edge(rise(at, 100), &out)
		d.Edge(fall(at+1500*us, 100), &out)
		at += 20 * ms
	}
	b.ReportMetric(float64(b.Elapsed().Nanoseconds())/float64(2*b.N), "ns/edge")
}

// BenchmarkUART plays and reads a frame of 9 bytes.
func BenchmarkUART(b *testing.B) {
	u := wire.UART{Baud: 115200}
	data := []byte{0xAA, 0x55, 0, 0x2E, 0xFB, 0x28, 0x0A, 0x12, 0x34}
	var edges []signal.Edge
	at := signal.Time(0)
	b.ReportAllocs()
	for b.Loop() {
		edges, _ = u.Append(edges[:0], at, data)
		at += 5 * ms
	}
}

// BenchmarkDShot600 reads a millisecond of four lines with 8000 frames a second
// each, as sampled: 1.024 million edges a second.
func BenchmarkDShot600(b *testing.B) {
	x := reference(b)
	timing := x.timing(b, 600)
	var edges []signal.Edge
	for line := range signal.Line(4) {
		for k := range signal.Time(8) {
			for _, e := range timing.bits(nil, k*125*us, frameOf(uint32(400+100*k), false), 16, false) {
				e.Line, e.Uncertainty = line, 175
				edges = append(edges, e)
			}
		}
	}
	slices.SortStableFunc(edges, func(a, b signal.Edge) int { return cmp.Compare(a.At, b.At) })
	var decoders [4]decode.MotorDecoder
	var out [4]trace.Output
	for line := range decoders {
		var err error
		decoders[line], err = decode.Motor{Kind: decode.DShot600}.New()
		require.NoError(b, err)
		decoders[line].Reset(0)
		out[line].Frames = make([]trace.Frame, 0, 16)
	}
	at, frames := ms, 0
	b.ReportAllocs()
	for b.Loop() {
		for line := range out {
			out[line].Frames = out[line].Frames[:0]
		}
		for _, e := range edges {
			e.At += at
			decoders[e.Line].Edge(e, &out[e.Line])
		}
		at += ms
		for line, d := range decoders {
			d.Until(at, &out[line])
			frames += len(out[line].Frames)
		}
	}
	if frames != 32*b.N || len(out[0].Events) > 0 {
		b.Fatalf("%d frames of %d, events %v", frames, 32*b.N, out[0].Events)
	}
	b.ReportMetric(float64(b.N)*1e6/float64(b.Elapsed().Nanoseconds()), "x_realtime")
	b.ReportMetric(float64(b.Elapsed().Nanoseconds())/float64(len(edges)*b.N), "ns/edge")
}
