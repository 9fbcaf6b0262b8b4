package decode_test

import (
	"testing"

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
