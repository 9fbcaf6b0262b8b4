package timing

import (
	"slices"
	"testing"

	"pgregory.net/rapid"

	"hilrig/rig/signal"
)

// The wheels' edges are a steady quadrature at the rate that was asked for, also after
// some were taken back.
func TestWheelsTurnSteadily(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		rate := rapid.Float64Range(1e3, 3e6).Draw(t, "rate")
		w := NewWheels(rate)
		w.Begin(1000)
		var played, edges []signal.Edge
		planned := 0
		for n := range signal.Time(20) {
			edges = w.Until(nil, 1000+(n+1)*signal.Millisecond)
			planned += len(edges)
			if rapid.IntRange(0, 3).Draw(t, "skip") == 0 {
				w.Undo(edges)
				continue
			}
			played = append(played, edges...)
		}
		if d := float64(planned) - rate/50; d > 4 || d < -4 {
			t.Fatalf("%d edges in 20 ms at %g a second", planned, rate)
		}
		if !slices.IsSortedFunc(played, func(a, b signal.Edge) int { return int(a.At - b.At) }) {
			t.Fatal("out of order")
		}
		level, back := [8]bool{}, uint64(0)
		last := [4]signal.Line{1, 3, 5, 7}
		for _, e := range played {
			if e.Level == level[e.Line] || e.Line == last[e.Line/2] {
				t.Fatalf("line %d repeats its level, or its wheel jumps", e.Line)
			}
			level[e.Line], last[e.Line/2] = e.Level, e.Line
			if e.Line%2 == 0 {
				back++
			}
		}
		if back != w.First {
			t.Fatalf("%d edges come back, counted %d", back, w.First)
		}
	})
}
