package plant

import (
	"testing"

	"github.com/stretchr/testify/require"
)

// cornering is the turn under power that the step is timed in: a steady turn to
// the left at about 8 m/s and 0.6 g.
func cornering(tb testing.TB) (*Model, stretch) {
	tb.Helper()
	m, err := New(small())
	require.NoError(tb, err)
	w := 8 / small().WheelRadius
	m.Reset(State{Vx: 8, Wheel: [4]float64{w, w, w, w}})
	s := stretch{dt: 0.001, steer: 0.03, torque: [4]float64{.05, .05, .05, .05}}
	for range 500 {
		m.Step(s.input(), s.dt)
	}
	return m, s
}

// BenchmarkPlantTick is one step of 1 ms of the plain configuration. Beside the time
// it reports how many times that of the C twin it is, x_c, where there is a C
// compiler.
func BenchmarkPlantTick(b *testing.B) {
	m, s := cornering(b)
	start := m.State()
	var c float64
	if w, ok := tryTwin(b); ok {
		c = w.nsPerStep(b, m, s)
	}
	in := s.input()
	n := 0
	b.ReportAllocs()
	for b.Loop() {
		m.Step(in, s.dt)
		if n++; n == 1000 {
			m.Reset(start)
			n = 0
		}
	}
	if c > 0 {
		b.ReportMetric(float64(b.Elapsed().Nanoseconds())/float64(b.N)/c, "x_c")
		b.ReportMetric(c, "c-ns/op")
	}
}
