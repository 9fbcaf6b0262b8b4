package decode_test

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"hilrig/rig/decode"
	"hilrig/rig/signal"
	"hilrig/rig/trace"
	"hilrig/stimulus/wire"
)

// The transitions of a quadrature decoder, old AB then new AB, as a published table has
// them (public gist of cehteh on quadrature decoding): 0001 0111 1110 1000 one way, 0010 1011 1101 0100 the
// other, 0110 1001 1100 0011 illegal. Which way counts up is a convention; here A leads.
func TestQuadratureTable(t *testing.T) {
	const a, b = 4, 9
	for _, row := range []struct {
		name        string
		transitions []string
		count       int64
		illegal     int64
	}{
		{"B leads", []string{"0001", "0111", "1110", "1000"}, -1, 0},
		{"A leads", []string{"0010", "1011", "1101", "0100"}, 1, 0},
		{"illegal", []string{"0110", "1001", "1100", "0011"}, 0, 1},
	} {
		for _, tr := range row.transitions {
			t.Run(row.name+" "+tr, func(t *testing.T) {
				d := decode.NewQuadrature(a, b, false)
				var out trace.Output
				at := signal.Time(0)
				set := func(line signal.Line, now, next byte) {
					if now != next {
						d.Edge(signal.Edge{At: at, Line: line, Level: next == '1'}, &out)
					}
				}
				set(a, '0', tr[0])
				at++
				set(b, '0', tr[1])
				at++
				d.Until(at, &out)
				before := d.Count()
				set(a, tr[0], tr[2])
				set(b, tr[1], tr[3])
				d.Until(at+1, &out)
				assert.Equal(t, row.count, d.Count()-before)
				assert.Equal(t, row.illegal, d.Illegal())
				assert.Len(t, out.Events, int(row.illegal))
			})
		}
	}
}

func TestQuadratureOddEdges(t *testing.T) {
	d := decode.NewQuadrature(0, 1, false)
	var out trace.Output
	d.Edge(signal.Edge{At: 5, Line: 7, Level: true}, &out) // not ours
	d.Edge(signal.Edge{At: 10, Line: 0, Level: true}, &out)
	d.Edge(signal.Edge{At: 20, Line: 0, Level: true}, &out) // one was missed
	d.Edge(signal.Edge{At: 15, Line: 1, Level: true}, &out) // backwards, dropped
	d.Until(30, &out)
	d.Until(25, &out)
	assert.EqualValues(t, 1, d.Count())
	assert.Equal(t, []trace.Event{{At: 20, Kind: trace.Backwards}, {At: 20, Kind: trace.Corrupt}}, out.Events)
	assert.EqualValues(t, 1, d.Illegal())
}

// What the encoder plays is what the decoder counts, for any speed profile with
// reversals, either way round.
func TestQuadratureRoundTrip(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		reverse := rapid.Bool().Draw(t, "reverse")
		e, err := wire.NewQuadrature(wire.Quadrature{
			Lines: rapid.IntRange(1, 5000).Draw(t, "lines"), Index: rapid.Bool().Draw(t, "index"), Reverse: reverse,
		}, 0, 1, 2)
		require.NoError(t, err)
		d := decode.NewQuadrature(0, 1, reverse)
		var out trace.Output
		at := signal.Time(0)
		for range rapid.IntRange(1, 40).Draw(t, "spans") {
			to := at + signal.Time(rapid.Int64Range(1, 3_000_000).Draw(t, "length"))
			for _, edge := range e.Append(nil, at, to, rapid.Float64Range(-300, 300).Draw(t, "omega")) {
				d.Edge(edge, &out)
			}
			d.Until(to, &out)
			at = to
			require.Equal(t, e.Count(), d.Count())
		}
		assert.Empty(t, out.Events)
	})
}

func TestQuadratureAllocatesNothing(t *testing.T) {
	d := decode.NewQuadrature(0, 1, false)
	var out trace.Output
	at, level := signal.Time(0), false
	assert.Zero(t, testing.AllocsPerRun(100, func() {
		level = !level
		at++
		d.Edge(signal.Edge{At: at, Level: level}, &out)
	}))
}

func FuzzQuadrature(f *testing.F) {
	f.Add(uint64(1), uint16(300), int64(10))
	f.Add(uint64(2), uint16(300), int64(2))
	f.Fuzz(func(t *testing.T, seed uint64, n uint16, scale int64) {
		d := decode.NewQuadrature(0, 1, seed%2 == 0)
		var out trace.Output
		edges := stream(seed, int(n), max(scale, 1))
		for _, e := range edges {
			d.Edge(e, &out)
		}
		d.Until(1<<62, &out)
		require.LessOrEqual(t, max(d.Count(), -d.Count())+d.Illegal(), int64(len(edges)))
	})
}
