package rig_test

import (
	"context"
	"math"
	"slices"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"hilrig/rig"
	"hilrig/rig/signal"
	"hilrig/stimulus"
)

// disturbed plays 600 ms with one fault from 200 to 400 ms, and returns the
// board and the program's start.
func disturbed(t testing.TB, w rig.Wiring, f *stimulus.Fault) (*listener, signal.Time) {
	r, l := listen(t, w)
	p := driven(stimulus.Fault{})
	p.Faults = nil
	if f != nil {
		p = driven(*f)
	}
	tr := heard(t, r, p)
	return l, tr.Start
}

// lines are those of every sort of wire.
var disturbedLines = []struct{ wire, line string }{
	{"steer", "steer"},
	{"front_left", "front_left_tacho"},
	{"front_right", "front_right_duty"},
	{"rear_left", "rear_left_a"},
	{"rear_left", "rear_left_index"},
	{"rear_right_b", "rear_right_b"},
	{"yaw_serial", "yaw_serial"},
}

// Jitter moves each edge about its time, by what was asked; no level repeats, edges
// keep their order (listener.on sees to both), and before and after the wire is as it was.
func TestJitterMovesEdges(t *testing.T) {
	const rms = 2 * signal.Microsecond
	calm, start := disturbed(t, mixed(), nil)
	for _, row := range disturbedLines {
		t.Run(row.line, func(t *testing.T) {
			f := stimulus.Fault{Kind: stimulus.Jitter, Wire: row.wire, By: rms.Seconds()}
			l, _ := disturbed(t, mixed(), &f)
			want, got := calm.on(t, row.line), l.on(t, row.line)
			require.Equal(t, len(want), len(got))
			sum, n := 0.0, 0
			for i, e := range want {
				d := float64(got[i].At - e.At)
				if at := e.At - start; at < faultFrom || at >= faultTo {
					if math.Abs(d) > 10e3 || at < faultFrom && d != 0 {
						t.Fatalf("the edge at %v, outside the fault, is off by %g ns", at, d)
					}
					continue
				}
				sum += d * d
				n++
			}
			if n < 20 {
				return // the index
			}
			// Three standard errors of an rms, and what order and ticks cut off.
			assert.InDelta(t, float64(rms), math.Sqrt(sum/float64(n)), float64(rms)*(3/math.Sqrt(2*float64(n))+0.05))
		})
	}
}

// Glitches turn the level over for their width, as often as asked.
func TestGlitchesTurnTheLevelOver(t *testing.T) {
	const width = 700 * signal.Nanosecond
	calm, start := disturbed(t, mixed(), nil)
	for _, row := range disturbedLines {
		t.Run(row.line, func(t *testing.T) {
			f := stimulus.Fault{Kind: stimulus.Glitch, Wire: row.wire, Rate: 2000, Width: width}
			l, _ := disturbed(t, mixed(), &f)
			want, got := calm.on(t, row.line), l.on(t, row.line)
			extra := len(got) - len(want)
			require.Zero(t, extra%2)
			if row.wire == row.line {
				assert.InDelta(t, 2*2000*0.2, extra, 160, "400 glitches in 200 ms")
			} else {
				assert.Positive(t, extra)
			}
			i, glitches := 0, 0
			for _, e := range got {
				if i < len(want) && want[i].At == e.At {
					i++
					continue
				}
				glitches++
				assert.GreaterOrEqual(t, e.At, start+faultFrom)
				assert.Less(t, e.At, start+faultTo+width)
			}
			assert.Equal(t, len(want), i, "the wire's own edges are all there")
			assert.Equal(t, extra, glitches)
		})
	}
}

// Dense edges and wild faults together: still no level repeats and no edge goes back.
func TestDisturbancesTogether(t *testing.T) {
	w := mixed()
	w.Encoders[3].Quadrature.Lines = 10000
	play := func() *listener {
		r, l := listen(t, w)
		p := driven(stimulus.Fault{Kind: stimulus.Jitter, Wire: "rear_right", By: 50e-6})
		p.Faults = append(p.Faults,
			stimulus.Fault{Kind: stimulus.Glitch, Wire: "rear_right_a", Rate: 50000, Width: 30 * signal.Microsecond, From: faultFrom, To: faultTo},
			stimulus.Fault{Kind: stimulus.Lost, Wire: "rear_right_b", From: faultFrom + 50*signal.Millisecond, To: faultTo - 50*signal.Millisecond},
			stimulus.Fault{Kind: stimulus.Glitch, Wire: "yaw_serial", Rate: 100000, Width: 3 * signal.Microsecond, From: faultFrom, To: faultTo},
			stimulus.Fault{Kind: stimulus.Jitter, Wire: "yaw_serial", By: 20e-6, From: faultFrom, To: faultTo},
			stimulus.Fault{Kind: stimulus.Jitter, Wire: "steer", By: 2e-3, From: faultFrom, To: faultTo})
		heard(t, r, p)
		heard(t, r, driven(stimulus.Fault{Kind: stimulus.Glitch, Wire: "throttle", Rate: 10, Width: signal.Second}))
		return l
	}
	l := play()
	for _, line := range l.layout.Lines {
		if line.Direction == signal.Drive {
			l.on(t, line.Name)
		}
	}
	last := signal.Time(0)
	for _, e := range l.edges {
		if e.At < last {
			t.Fatalf("edge at %v after %v", e.At, last)
		}
		last = e.At
	}
	assert.True(t, slices.Equal(l.edges, play().edges), "the same seed gives the same edges")
}

// On the bus and after Safe the line comes back to rest.
func TestDisturbedPortComesToRest(t *testing.T) {
	w := onBus()
	r, l := listen(t, w)
	p := driven(stimulus.Fault{Kind: stimulus.Glitch, Wire: "steer", Rate: 50000, Width: 15 * signal.Microsecond})
	p.Length = faultFrom + 3100*signal.Microsecond
	heard(t, r, p)
	edges := l.on(t, "receiver_bus")
	assert.False(t, edges[len(edges)-1].Level, "inverted: low at rest")
}

func TestDisturbancesThatCannotBe(t *testing.T) {
	for _, row := range []struct {
		name  string
		fault stimulus.Fault
		want  string
	}{
		{"no rate", stimulus.Fault{Kind: stimulus.Glitch, Wire: "steer", Width: 1}, "glitches on steer, 0 a second"},
		{"no width", stimulus.Fault{Kind: stimulus.Glitch, Wire: "steer", Rate: 1}, "0 s wide"},
		{"no size", stimulus.Fault{Kind: stimulus.Jitter, Wire: "rear_left"}, "jitter of 0 s on rear_left"},
		{"NaN", stimulus.Fault{Kind: stimulus.Jitter, Wire: "rear_left", By: math.NaN()}, "jitter of NaN s"},
		{"no wire", stimulus.Fault{Kind: stimulus.Jitter, Wire: "motor_rear_left", By: 1e-6}, "no wire"},
	} {
		r, _ := listen(t, mixed())
		assert.ErrorContains(t, r.Play(context.Background(), driven(row.fault), nil), row.want, row.name)
	}
	r, _ := ask(t, asked(), []byte{1})
	assert.ErrorContains(t, r.Play(context.Background(), driven(stimulus.Fault{Kind: stimulus.Jitter, Wire: "imu_serial", By: 1e-6}), nil), "answers requests")
}

func TestDisturbancesAllocateNothing(t *testing.T) {
	r, l := listen(t, mixed())
	p := driven(stimulus.Fault{Kind: stimulus.Jitter, Wire: "rear_left", By: 1e-6})
	p.Faults[0].From, p.Faults[0].To, p.Length = 0, signal.Second, signal.Millisecond
	for range 300 {
		require.NoError(t, r.Play(context.Background(), p, nil))
	}
	l.edges = make([]signal.Edge, 0, 100000)
	assert.Zero(t, testing.AllocsPerRun(100, func() { _ = r.Play(context.Background(), p, nil) }))
}

// Jitter wider than the edges are apart still lets no edge overtake another of the
// same encoder: nothing is counted wrongly.
func TestJitterOfAnEncoderKeepsTheOrderOfItsLines(t *testing.T) {
	f := stimulus.Fault{Kind: stimulus.Jitter, Wire: "rear_left", By: 300e-6}
	counts := func(f *stimulus.Fault) (int64, int64) {
		l, _ := disturbed(t, mixed(), f)
		a, _ := l.layout.Line("rear_left_a")
		b, _ := l.layout.Line("rear_left_b")
		c := counter{a: a, b: b}
		for _, e := range l.edges {
			c.edge(e)
		}
		c.settle()
		return c.count, c.illegal
	}
	want, _ := counts(nil)
	got, illegal := counts(&f)
	assert.Zero(t, illegal)
	assert.Equal(t, want, got)
}
