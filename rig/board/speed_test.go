package board_test

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"hilrig/rig/board"
	"hilrig/rig/signal"
)

// fast is the wheel speed in m/s at which an encoder of 256 lines gives 30000 edges a second.
const fast = 30000.0 / (4 * lines) * 2 * 3.14159265358979323846 * radius

// recorded is a stretch of driven edges, cut into milliseconds.
type recorded [][]signal.Edge

// record makes a second at a speed, with everything else running.
func record(t testing.TB, speed float64) (r recorded, encoders int) {
	b, err := board.NewNull(board.SilentBoard, board.Pulses{}, layout(), 0)
	require.NoError(t, err)
	w := newWorld(t, b)
	w.straight(speed)
	w.throttleTo(0.4)
	w.steerTo(8)
	for range 1000 {
		w.step(ms)
		r = append(r, append([]signal.Edge(nil), w.in...))
		for _, e := range w.in {
			if e.Line >= w.lineOfEncoder && e.Line < w.lineOfSerial {
				encoders++
			}
		}
	}
	return r, encoders
}

// replay plays a recorded second to a board, the times moved on.
func (r recorded) replay(t testing.TB, b board.Board, start signal.Time, in, out []signal.Edge) ([]signal.Edge, []signal.Edge) {
	for i, edges := range r {
		in = in[:0]
		for _, e := range edges {
			e.At += start
			in = append(in, e)
		}
		var err error
		if out, err = b.Run(in, start+signal.Time(i+1)*ms, out[:0]); err != nil {
			t.Fatal(err)
		}
	}
	return in, out
}

func TestRunAllocatesNothing(t *testing.T) {
	for _, speed := range []float64{0, 4, fast} {
		r, _ := record(t, speed)
		b, err := board.NewBuiltIn(board.Bramble(), layout(), 1)
		require.NoError(t, err)
		in, out := make([]signal.Edge, 0, 1000), make([]signal.Edge, 0, 100)
		start := signal.Time(0)
		assert.Zero(t, testing.AllocsPerRun(2, func() {
			in, out = r.replay(t, b, start, in, out)
			start += signal.Second
		}), "at %v m/s", speed)
	}
}

// BenchmarkRun is a second of virtual time with four encoders at 30000 edges a
// second each, yaw frames at 200 Hz and receiver pulses at 100 Hz.
func BenchmarkRun(b *testing.B) {
	r, encoders := record(b, fast)
	built, err := board.NewBuiltIn(board.Bramble(), layout(), 1)
	require.NoError(b, err)
	in, out := make([]signal.Edge, 0, 1000), make([]signal.Edge, 0, 100)
	start := signal.Time(0)
	for b.Loop() {
		in, out = r.replay(b, built, start, in, out)
		start += signal.Second
	}
	b.ReportMetric(float64(b.Elapsed().Nanoseconds())/float64(b.N)/float64(encoders), "ns/encoder_edge")
	b.ReportMetric(float64(b.N)/b.Elapsed().Seconds(), "x_realtime")
}
