package stand

import (
	"testing"

	"github.com/stretchr/testify/assert"

	"hilrig/rig/signal"
)

// tick lets a millisecond pass at a level, as the rig's loop does, and returns how many edges came.
func (w *world) tick(level float64) int {
	if w.now%frame < signal.Millisecond {
		w.pulses(level, w.now, w.now+1)
	}
	w.out = w.out[:0]
	w.run(signal.Millisecond)
	return len(w.out)
}

// until plays a level until the shaft's speed is such, but no longer than a time.
func (w *world) until(level float64, most signal.Time, is func(speed float64) bool) (edges int) {
	for end := w.now + most; w.now < end && !is(w.stand.shaft.speed); {
		edges += w.tick(level)
	}
	return edges
}

// spinUps plays levels up and down, in steps of 5 % from 0 to 100 %: each from rest, after a
// short time at its neighbour, until the shaft turns at 30 rad/s, then idle until it has all but stopped.
func (w *world) spinUps() (edges int) {
	for i := range 42 {
		level, before := float64(i)/20, float64(i-1)/20
		if i > 20 {
			level, before = float64(41-i)/20, float64(42-i)/20
		}
		edges += w.until(min(max(before, 0), 1), 4*signal.Millisecond, func(float64) bool { return false })
		edges += w.until(level, 4*signal.Second, func(v float64) bool { return v > 30 })
		edges += w.until(0, 10*signal.Second, func(v float64) bool { return v < 5 })
	}
	return edges
}

func TestRunAllocatesNothing(t *testing.T) {
	for _, change := range []func(*Settings){
		func(*Settings) {},
		func(s *Settings) { s.Held = Held{Kind: AtSpeed, Speed: 120} },
		func(s *Settings) { s.Held = Held{Kind: Locked} },
	} {
		w := newWorld(t, "dropping_telemetry", change).arm()
		for range 3000 {
			w.tick(1)
		}
		i := 0
		assert.Zero(t, testing.AllocsPerRun(2000, func() {
			i++
			w.tick(float64(i/500%2) * 0.8)
		}))
	}
}

// One operation is three cycles of 21 levels.
func BenchmarkSpinUps(b *testing.B) {
	w := newWorld(b, "linear").arm()
	w.spinUps()
	began, edges := w.now, 0
	b.ReportAllocs()
	for b.Loop() {
		for range 3 {
			edges += w.spinUps()
		}
	}
	n := float64(b.N)
	b.ReportMetric((w.now-began).Seconds()/n, "virtual-s/op")
	b.ReportMetric(float64(edges)/n, "edges/op")
}

// One operation is a second at full speed, some 190000 edges of the encoder.
func BenchmarkFullSpeed(b *testing.B) {
	w := newWorld(b, "linear").arm()
	for range 8000 {
		w.tick(1)
	}
	b.ReportAllocs()
	for b.Loop() {
		for range 1000 {
			w.tick(1)
		}
	}
}
