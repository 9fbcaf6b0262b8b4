package stand

import (
	"math"
	"slices"
	"testing"

	"github.com/stretchr/testify/require"

	"hilrig/rig/signal"
)

// world plays a stand by hand: servo pulses of a frame each 2.5 ms, and the clock of the converter.
type world struct {
	t     testing.TB
	stand *Stand
	now   signal.Time
	in    []signal.Edge
	out   []signal.Edge
}

const frame = 2500 * signal.Microsecond

func newWorld(t testing.TB, name string, change ...func(*Settings)) *world {
	esc, ok := ESCNamed(name)
	require.True(t, ok, name)
	return newWorldOf(t, esc, change...)
}

func newWorldOf(t testing.TB, esc ESC, change ...func(*Settings)) *world {
	settings := Demo()
	for _, c := range change {
		c(&settings)
	}
	s, err := New(settings, esc)
	require.NoError(t, err)
	return &world{t: t, stand: s}
}

// line returns the index of a line.
func (w *world) line(role signal.Role) signal.Line {
	l, ok := w.stand.settings.Layout.Find(role, signal.NoWheel)
	require.True(w.t, ok)
	return l
}

// pulses appends the pulses of a command over a time, which is a whole number of frames.
func (w *world) pulses(command float64, from, to signal.Time) {
	width := signal.FromSeconds((1000 + 1000*command) * 1e-6)
	line := w.line(signal.ThrottleCommand)
	for at := from; at < to; at += frame {
		w.in = append(w.in, signal.Edge{At: at, Line: line, Level: true}, signal.Edge{At: at + width, Line: line})
	}
}

// hold plays a command for a time and runs the stand.
func (w *world) hold(command float64, span signal.Time) *world {
	w.pulses(command, w.now, w.now+span)
	return w.run(span)
}

// run lets time pass with the edges that are there.
func (w *world) run(span signal.Time) *world {
	w.now += span
	n := 0
	for n < len(w.in) && w.in[n].At <= w.now {
		n++
	}
	var err error
	w.out, err = w.stand.Run(w.in[:n], w.now, w.out)
	require.NoError(w.t, err)
	w.in = slices.Delete(w.in, 0, n)
	return w
}

// arm gives idle until the controller drives.
func (w *world) arm() *world { return w.hold(0, 400*signal.Millisecond) }

// of returns the edges of one line.
func (w *world) of(role signal.Role) []signal.Edge {
	var edges []signal.Edge
	for _, e := range w.out {
		if e.Line == w.line(role) {
			edges = append(edges, e)
		}
	}
	return edges
}

// counts returns the angle in sectors that the edges of A and B stand for, counted in the way of a
// counter of its own: by the table of the levels.
func counts(edges []signal.Edge, a, b signal.Line) (n int) {
	position := map[[2]bool]int{{false, false}: 0, {true, false}: 1, {true, true}: 2, {false, true}: 3}
	var level [2]bool
	at := 0
	for _, e := range edges {
		switch e.Line {
		case a:
			level[0] = e.Level
		case b:
			level[1] = e.Level
		default:
			continue
		}
		next := position[level]
		switch (next - at + 4) % 4 {
		case 1:
			n++
		case 3:
			n--
		default:
			panic("a step of two, or of none")
		}
		at = next
	}
	return n
}

func near(t testing.TB, want, got, share float64, why string) {
	require.InDelta(t, want, got, math.Abs(want)*share, why)
}
