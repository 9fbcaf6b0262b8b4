package wire_test

import (
	"testing"

	"hilrig/rig/signal"
	"hilrig/stimulus/wire"
)

// BenchmarkQuadrature plays a 1024-line wheel at 100 rad/s (65 edges a tick) in
// ticks of 1 ms; ns/edge is what counts.
func BenchmarkQuadrature(b *testing.B) {
	for _, row := range []struct {
		name  string
		cfg   wire.Quadrature
		omega float64
	}{
		{"forward", wire.Quadrature{Lines: 1024}, 100},
		{"backward", wire.Quadrature{Lines: 1024}, -100},
		{"index", wire.Quadrature{Lines: 1024, Index: true}, 100},
		{"coarse", wire.Quadrature{Lines: 48}, 100},
	} {
		b.Run(row.name, func(b *testing.B) {
			e, err := wire.NewQuadrature(row.cfg, 0, 1, 2)
			if err != nil {
				b.Fatal(err)
			}
			var edges []signal.Edge
			n := 0
			at := signal.Time(0)
			b.ReportAllocs()
			for b.Loop() {
				edges = e.Append(edges[:0], at, at+signal.Millisecond, row.omega)
				at += signal.Millisecond
				n += len(edges)
			}
			b.ReportMetric(float64(b.Elapsed().Nanoseconds())/float64(n), "ns/edge")
		})
	}
}
