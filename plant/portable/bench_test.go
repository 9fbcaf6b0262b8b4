package portable

import "testing"

var sink float64

func benchmark(b *testing.B, f func(float64) float64) {
	x := 0.0
	for b.Loop() {
		if x += 0.1; x > 3 {
			x = 0.1
		}
		sink = f(x)
	}
}

func BenchmarkSin(b *testing.B)  { benchmark(b, Sin) }
func BenchmarkTan(b *testing.B)  { benchmark(b, Tan) }
func BenchmarkAtan(b *testing.B) { benchmark(b, Atan) }
func BenchmarkExp(b *testing.B)  { benchmark(b, Exp) }
func BenchmarkLog(b *testing.B)  { benchmark(b, Log) }

func BenchmarkAtan8(b *testing.B) {
	for b.Loop() {
		x := [8]float64{.1, .2, .3, .4, .5, .6, .7, .8}
		Atan8(&x)
		sink = x[7]
	}
}

func BenchmarkSin8(b *testing.B) {
	for b.Loop() {
		x := [8]float64{.1, .2, .3, .4, 1.5, 1.6, 1.7, 1.8}
		Sin8(&x)
		sink = x[7]
	}
}

func BenchmarkNorm(b *testing.B) {
	n := NewNoise(1, "bench")
	for b.Loop() {
		sink = n.Norm()
	}
}
