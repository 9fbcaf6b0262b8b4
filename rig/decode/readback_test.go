package decode_test

import (
	"math/rand/v2"
	"strconv"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"hilrig/rig/decode"
	"hilrig/rig/signal"
	"hilrig/rig/simulated"
	"hilrig/rig/trace"
	"hilrig/stimulus/wire"
)

// turn is from one look of the sampler to the next. Its stamps are uncertain by two.
const turn = 175 * signal.Nanosecond

// looked returns edges as a sampler sees them that looks every so often, with stalls
// of 50 to 300 us or without.
func looked(t testing.TB, edges []signal.Edge, idle bool, lines int, stalls bool, every, length signal.Time) []signal.Edge {
	layout := signal.Layout{}
	for range lines {
		layout.Lines = append(layout.Lines, signal.LineSpec{Direction: signal.Capture, Idle: idle})
	}
	s := simulated.Sampler{Period: every}
	if stalls {
		random := rand.New(rand.NewPCG(21, 3))
		s.Stalls = simulated.Stalls{Mean: 20 * ms, Least: 50 * us, Most: 300 * us, Draw: random.Uint64}
	}
	bench, err := simulated.New(simulated.Settings{Layout: layout, Board: &tape{edges: edges}, Sampler: s})
	require.NoError(t, err)
	defer bench.Close()
	require.NoError(t, bench.Wait(length))
	got, err := bench.Captured(nil)
	require.NoError(t, err)
	return got
}

// TestNoByteIsReadWrongly plays bytes, in frames and without rest, through a
// sampler that stalls: what is read was sent, and nothing is said to be wrong.
func TestNoByteIsReadWrongly(t *testing.T) {
	for _, row := range []struct {
		baud, bytes int
		period      signal.Time
		every       signal.Time
	}{
		{115_200, 9, 5 * ms, turn}, {115_200, 9, 900 * us, turn}, {9600, 4, 6 * ms, turn},
		{1_000_000, 30, ms, turn / 2}, // two turns of 175 ns leave the middle of a bit open
	} {
		t.Run(strconv.Itoa(row.baud), func(t *testing.T) {
			random := rand.New(rand.NewPCG(uint64(row.baud), 1))
			uart := wire.UART{Baud: row.baud}
			var edges []signal.Edge
			sent := map[signal.Time]byte{} // by the nominal end
			length := signal.Second
			if testing.Short() {
				length /= 4
			}
			for at := ms; at+row.period < length; at += row.period {
				data := make([]byte, row.bytes)
				for i := range data {
					data[i] = byte(random.Uint32())
				}
				edges, _ = uart.Append(edges, at, data)
				for i, b := range data {
					sent[at+signal.Time(i)*signal.Second*10/signal.Time(row.baud)] = b
				}
			}
			for _, stalls := range []bool{false, true} {
				d := serial(t, decode.Serial{Baud: row.baud, Hold: 301 * us})
				var out trace.Output
				next := ms
				for _, e := range looked(t, edges, true, 1, stalls, row.every, length) {
					for ; next < e.At-signal.Time(e.Uncertainty); next += ms {
						d.Until(next, &out)
					}
					d.Edge(e, &out)
				}
				d.Until(length+ms, &out)
				for _, f := range out.Frames {
					found := false
					for late := signal.Time(-1); late <= 180; late++ {
						b, ok := sent[f.Start-late]
						found = found || ok && float64(b) == f.Value
					}
					require.True(t, found, "%+v was not sent", f)
				}
				for _, e := range out.Events {
					require.Equal(t, trace.Uncertain, e.Kind)
				}
				assert.Equal(t, stalls, len(out.Events) > 0)
				least := len(sent)
				if stalls {
					least = least * 8 / 10
				}
				assert.GreaterOrEqual(t, len(out.Frames), least)
			}
		})
	}
}

// TestNoCountIsWrongUntold turns an encoder to and fro: without stalls each count is
// kept, and with them it is until the first change that may not have been alone.
func TestNoCountIsWrongUntold(t *testing.T) {
	e, err := wire.NewQuadrature(wire.Quadrature{Lines: 1024}, 0, 1, 2)
	require.NoError(t, err)
	var edges []signal.Edge
	type count struct {
		at signal.Time
		n  int64
	}
	var counts []count
	for at := signal.Time(0); at < signal.Second; at += ms {
		omega := 200.0 - 400*float64(at%(100*ms))/float64(100*ms)
		edges = e.Append(edges, at, at+ms, omega)
		counts = append(counts, count{at + ms, e.Count()})
	}
	for _, stalls := range []bool{false, true} {
		d := decode.NewQuadrature(0, 1, false)
		var out trace.Output
		all := looked(t, edges, false, 2, stalls, turn, signal.Second)
		held := 0
		for _, c := range counts {
			for len(all) > 0 && all[0].At-signal.Time(all[0].Uncertainty) < c.at {
				d.Edge(all[0], &out)
				all = all[1:]
			}
			if len(all) > 0 && all[0].Uncertainty > uint32(2*turn) {
				continue // in a stall: what comes next tells
			}
			d.Until(c.at, &out)
			if d.Uncertain() > 0 {
				break
			}
			held++
			require.InDelta(t, c.n, d.Count(), 1)
		}
		assert.Zero(t, d.Illegal())
		if stalls {
			assert.NotZero(t, d.Uncertain())
			assert.Contains(t, kinds(out.Events), trace.Uncertain)
		} else {
			assert.Len(t, counts, held)
			assert.Equal(t, counts[len(counts)-1].n, d.Count())
		}
	}
}

// BenchmarkQuadrature counts 1.5 million edges a second, as sampled.
func BenchmarkQuadrature(b *testing.B) {
	d := decode.NewQuadrature(0, 1, false)
	var out trace.Output
	at, state := signal.Time(0), 1
	b.ReportAllocs()
	for b.Loop() {
		for range 1500 {
			at += 667
			state++
			d.Edge(signal.Edge{At: at, Uncertainty: 175, Line: signal.Line((state + 1) & 1), Level: state&2 != 0}, &out)
		}
	}
	if len(out.Events) > 0 || d.Count() == 0 {
		b.Fatalf("count %d, events %v", d.Count(), out.Events[:1])
	}
	b.ReportMetric(float64(b.N)*1e6/float64(b.Elapsed().Nanoseconds()), "x_realtime")
}

// A stall that is told of only after the byte's end is waited for.
func TestSerialHold(t *testing.T) {
	for _, hold := range []signal.Time{0, 300 * us} {
		d := serial(t, decode.Serial{Baud: 100_000, Hold: hold})
		var out trace.Output
		d.Until(0, &out)
		d.Edge(fall(ms, 0), &out)
		d.Edge(rise(ms+10*us, 0), &out) // the start bit is over, then all ones, or is it?
		d.Until(ms+150*us, &out)
		d.Edge(signal.Edge{At: ms + 260*us, Uncertainty: 230_000, Level: true}, &out)
		d.Until(2*ms, &out)
		if hold == 0 {
			assert.Len(t, out.Frames, 1, "it was taken at its word")
			continue
		}
		assert.Empty(t, out.Frames)
		assert.Equal(t, []trace.EventKind{trace.Uncertain}, kinds(out.Events))
	}
}

func TestQuadratureGap(t *testing.T) {
	d := decode.NewQuadrature(0, 1, false)
	var out trace.Output
	d.Edge(signal.Edge{At: us, Line: 0, Level: true}, &out)
	d.Edge(signal.Edge{At: ms, Uncertainty: 50_000, Line: 0, Level: true}, &out)
	d.Edge(signal.Edge{At: ms, Uncertainty: 50_000, Line: 1}, &out)
	d.Until(2*ms, &out)
	assert.Equal(t, []trace.Event{{At: ms, Kind: trace.Uncertain}}, out.Events)
	assert.Equal(t, int64(1), d.Count())
	assert.Equal(t, int64(1), d.Uncertain())
	assert.Zero(t, d.Illegal())
}
