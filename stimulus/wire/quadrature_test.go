package wire_test

import (
	"math"
	"math/big"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"hilrig/rig/signal"
	"hilrig/stimulus/wire"
)

const (
	lineA signal.Line = iota
	lineB
	lineIndex
)

func quadrature(t require.TestingT, cfg wire.Quadrature) *wire.QuadratureEncoder {
	e, err := wire.NewQuadrature(cfg, lineA, lineB, lineIndex)
	require.NoError(t, err)
	return e
}

func TestQuadratureRefusesLines(t *testing.T) {
	for _, lines := range []int{-1, 0, 100_001} {
		_, err := wire.NewQuadrature(wire.Quadrature{Lines: lines}, lineA, lineB, lineIndex)
		assert.ErrorContains(t, err, "write 1 to 100000", "%d lines", lines)
	}
}

// A wheel that turns steadily gives edge k at k quarter lines over its speed, to 1 ns, whatever
// the ticks are.
func TestQuadratureSteady(t *testing.T) {
	for _, row := range []struct {
		name  string
		lines int
		omega float64
		tick  signal.Time
	}{
		{"slow and coarse", 1, 0.5, signal.Millisecond},
		{"fine", 4096, 12.5, signal.Millisecond},
		{"fast", 1024, 437.1, signal.Millisecond},
		{"odd ticks", 48, 100, 999_983},
		{"backward", 512, -33.3, signal.Millisecond},
	} {
		t.Run(row.name, func(t *testing.T) {
			e := quadrature(t, wire.Quadrature{Lines: row.lines})
			var edges []signal.Edge
			for at := signal.Time(0); at < 10*signal.Second && len(edges) < 100_000; at += row.tick {
				edges = e.Append(edges, at, at+row.tick, row.omega)
			}
			require.Greater(t, len(edges), 2)
			period := 2 * math.Pi / math.Abs(row.omega) / float64(4*row.lines) * 1e9
			for i, edge := range edges {
				k := float64(i + 1)
				if row.omega < 0 {
					k-- // phase 0 is left at once
				}
				// 1 ns, and the rounding of a rate to 2^-62 counts per nanosecond.
				rounding := float64(edge.At) * 0x1p-63 * period
				if math.Abs(k*period-float64(edge.At)) > 1.001+rounding {
					require.InDelta(t, k*period, float64(edge.At), 1.001+rounding, "edge %d", i)
				}
			}
		})
	}
}

func TestQuadratureTurns(t *testing.T) {
	e := quadrature(t, wire.Quadrature{Lines: 1000})
	e.SetPhase(0.5)
	// One turn in 2 s, in 1000 ticks; 50 turns there, 70 back.
	omega := math.Pi
	var edges []signal.Edge
	at := signal.Time(0)
	for range 50 * 1000 {
		edges = e.Append(edges, at, at+2*signal.Millisecond, omega)
		at += 2 * signal.Millisecond
	}
	assert.EqualValues(t, 50*4000, e.Count())
	assert.Len(t, edges, 50*4000)
	for range 70 * 1000 {
		edges = e.Append(edges[:0], at, at+2*signal.Millisecond, -omega)
		at += 2 * signal.Millisecond
	}
	assert.EqualValues(t, -20*4000, e.Count())
}

// The forward sequence of A and B. Which way is forward is a convention: here A leads.
func TestQuadratureSequence(t *testing.T) {
	for _, row := range []struct {
		name    string
		reverse bool
		omega   float64
		want    []string
	}{
		{"forward", false, 1, []string{"10", "11", "01", "00", "10"}},
		{"backward", false, -1, []string{"01", "11", "10", "00", "01"}},
		{"forward, B leads", true, 1, []string{"01", "11", "10", "00", "01"}},
		{"backward, B leads", true, -1, []string{"10", "11", "01", "00", "10"}},
	} {
		t.Run(row.name, func(t *testing.T) {
			e := quadrature(t, wire.Quadrature{Lines: 1, Reverse: row.reverse})
			e.SetPhase(0.5)
			level := []byte("00")
			var got []string
			for _, edge := range e.Append(nil, 0, 9*signal.Second, row.omega) { // 5.7 quarters
				level[edge.Line] = '0'
				if edge.Level {
					level[edge.Line] = '1'
				}
				got = append(got, string(level))
			}
			require.GreaterOrEqual(t, len(got), 5)
			assert.Equal(t, row.want, got[:5])
		})
	}
}

func TestQuadratureReversing(t *testing.T) {
	e := quadrature(t, wire.Quadrature{Lines: 1})
	quarter := math.Pi / 2 // rad per second: one count a second
	e.SetPhase(0.5)
	there := e.Append(nil, 0, signal.Second, quarter)
	back := e.Append(nil, signal.Second, 2*signal.Second, -quarter)
	// Out at the boundary after 0.5 s, and back over it 0.5 s after turning.
	require.Len(t, there, 1)
	assert.InDelta(t, float64(signal.Second/2), float64(there[0].At), 1)
	assert.True(t, there[0].Level)
	require.Len(t, back, 1)
	assert.InDelta(t, float64(3*signal.Second/2), float64(back[0].At), 1)
	assert.Equal(t, lineA, back[0].Line)
	assert.False(t, back[0].Level)
	assert.Zero(t, e.Count())
}

func TestQuadratureStandingOnABoundary(t *testing.T) {
	e := quadrature(t, wire.Quadrature{Lines: 1})
	edges := e.Append(nil, 0, 1000, -1e-3) // leaves count 0 at once
	assert.Len(t, edges, 1)
	for i := range signal.Time(100) { // and there and back again, never twice the same
		at := 1000 + 2000*i
		edges = e.Append(edges, at, at+1000, 1e-3)
		edges = e.Append(edges, at+1000, at+2000, -1e-3)
	}
	assertLegal(t, edges)
	assert.Len(t, edges, 201)
}

func TestQuadratureIndex(t *testing.T) {
	for _, row := range []struct {
		name  string
		omega float64
		first float64 // quarters until count 0 of a turn is reached, from half a quarter
	}{
		{"forward", math.Pi / 20, 39.5},
		{"backward", -math.Pi / 20, 39.5},
	} {
		t.Run(row.name, func(t *testing.T) {
			e := quadrature(t, wire.Quadrature{Lines: 10, Index: true}) // one quarter a second
			e.SetPhase(0.5)
			edges := e.Append(nil, 0, 130*signal.Second, row.omega)
			assertLegal(t, edges)
			var index []signal.Edge
			for _, edge := range edges {
				if edge.Line == lineIndex {
					index = append(index, edge)
				}
			}
			require.Len(t, index, 6) // three turns
			for i, edge := range index {
				want := (row.first + float64(i/2*40+i%2)) * 1e9
				assert.InDelta(t, want, float64(edge.At), 2+1.2e-10*want, "edge %d", i) // a rate is rounded by up to 1.1e-10 a second
				assert.Equal(t, i%2 == 0, edge.Level)
			}
			assert.InDelta(t, 1e9, float64(index[1].At-index[0].At), 1, "a quarter of a line wide")
		})
	}
}

// At the highest rate counts begin every 4 ns, count 4 at 16 ns.
func TestQuadratureIndexGate(t *testing.T) {
	last := func(edges []signal.Edge) signal.Edge { return edges[len(edges)-1] }
	t.Run("the edge waits for its span", func(t *testing.T) {
		e := quadrature(t, wire.Quadrature{Lines: 1, Index: true})
		edges := e.Append(nil, 0, 17, math.Inf(1))
		assert.Equal(t, signal.Edge{At: 16, Line: lineB}, last(edges))
		edges = e.Append(nil, 17, 18, 0)
		assert.Equal(t, []signal.Edge{{At: 17, Line: lineIndex, Level: true}}, edges)
	})
	t.Run("and is not before it after a gap", func(t *testing.T) {
		e := quadrature(t, wire.Quadrature{Lines: 1, Index: true})
		e.Append(nil, 0, 17, math.Inf(1))
		edges := e.Append(nil, 30, 40, 0)
		assert.Equal(t, []signal.Edge{{At: 30, Line: lineIndex, Level: true}}, edges)
	})
	t.Run("a turn back at once is swallowed", func(t *testing.T) {
		e := quadrature(t, wire.Quadrature{Lines: 1, Index: true})
		e.Append(nil, 0, 16, math.Inf(1))
		edges := e.Append(nil, 16, 17, math.Inf(-1))
		edges = e.Append(edges, 17, 40, 0)
		assert.Equal(t, []signal.Edge{{At: 16, Line: lineB}, {At: 17, Line: lineB, Level: true}}, edges)
	})
}

func TestQuadratureEdgeCases(t *testing.T) {
	for _, row := range []struct {
		name     string
		from, to signal.Time
		omega    float64
		edges    int
	}{
		{"standing", 0, signal.Second, 0, 0},
		{"no time", 5, 5, 100, 0},
		{"time backwards", 5, 4, 100, 0},
		{"not a number", 0, signal.Second, math.NaN(), 0},
		{"infinite", 0, 4001, math.Inf(1), 1000},
		{"minus infinite", 0, 4000, math.Inf(-1), 1000},
		{"beyond the highest rate", 0, 4001, 1e12, 1000},
		{"a boundary in the last nanosecond", 0, 5, math.Inf(1), 1},
		{"a boundary at the end", 0, 4, math.Inf(1), 0},
		{"hardly moving", 0, 1 << 62, 1e-300, 0},
	} {
		t.Run(row.name, func(t *testing.T) {
			e := quadrature(t, wire.Quadrature{Lines: 100_000})
			edges := e.Append(nil, row.from, row.to, row.omega)
			assert.Len(t, edges, row.edges)
			assertLegal(t, edges)
		})
	}
}

func TestQuadratureSetPhase(t *testing.T) {
	for _, row := range []struct {
		name  string
		share float64
		first signal.Time
	}{
		{"beginning", 0, signal.Second},
		{"quarter", 0.25, 750 * signal.Millisecond},
		{"end", 1, 1},
		{"clipped below", -1, signal.Second},
		{"not a number", math.NaN(), signal.Second},
	} {
		t.Run(row.name, func(t *testing.T) {
			e := quadrature(t, wire.Quadrature{Lines: 1})
			e.SetPhase(row.share)
			edges := e.Append(nil, 0, 1100*signal.Millisecond, math.Pi/2)
			require.NotEmpty(t, edges)
			assert.InDelta(t, float64(row.first), float64(edges[0].At), 1)
		})
	}
}

func TestQuadratureSetPhaseMakesNoEdge(t *testing.T) {
	e := quadrature(t, wire.Quadrature{Lines: 1})
	e.Append(nil, 0, 8, math.Inf(1)) // count 2 begins right at the end
	e.SetPhase(0.5)
	assert.Empty(t, e.Append(nil, 8, 100, 0))
	assert.EqualValues(t, 1, e.Count())
}

func TestEdgeRate(t *testing.T) {
	q := wire.Quadrature{Lines: 1024}
	assert.InEpsilon(t, 4096.0, q.EdgeRate(2*math.Pi), 1e-12)
	assert.InEpsilon(t, 4096.0, q.EdgeRate(-2*math.Pi), 1e-12)
}

// assertLegal fails unless the edges are in order of time, none at the same time, and each
// changes its line's level.
func assertLegal(t require.TestingT, edges []signal.Edge) {
	var level [3]bool
	last := signal.Time(-1)
	for i, e := range edges {
		require.Greater(t, e.At, last, "edge %d", i)
		require.NotEqual(t, level[e.Line], e.Level, "edge %d changes nothing", i)
		level[e.Line] = e.Level
		last = e.At
	}
}

// span is one stretch of a speed profile.
type span struct {
	length signal.Time
	omega  float64
}

func profile(t *rapid.T, most float64) []span {
	return rapid.SliceOfN(rapid.Custom(func(t *rapid.T) span {
		length := rapid.OneOf(rapid.Int64Range(1, 20), rapid.Int64Range(1, 3_000_000)).Draw(t, "length")
		return span{signal.Time(length), rapid.Float64Range(-most, most).Draw(t, "omega")}
	}), 1, 40).Draw(t, "profile")
}

const piDigits = "3.14159265358979323846264338327950288419716939937510582097494459230781640628620899"

// The count is the floor of the integral of speed, here worked out with 250 bits.
func TestQuadratureCountsTheIntegral(t *testing.T) {
	number := func(x float64) *big.Float { return new(big.Float).SetPrec(250).SetFloat64(x) }
	pi, _, err := big.ParseFloat(piDigits, 10, 250, big.ToNearestEven)
	require.NoError(t, err)
	rapid.Check(t, func(t *rapid.T) {
		cfg := wire.Quadrature{
			Lines: rapid.SampledFrom([]int{1, 7, 48, 1024, 4096}).Draw(t, "lines"),
			Index: rapid.Bool().Draw(t, "index"),
		}
		e := quadrature(t, cfg)
		share := float64(rapid.IntRange(0, 1023).Draw(t, "share")) / 1024
		e.SetPhase(share)
		perRad := new(big.Float).Quo(number(float64(4*cfg.Lines)), new(big.Float).Mul(number(2), pi))
		phase := number(share)
		var edges []signal.Edge
		at := signal.Time(0)
		for _, s := range profile(t, 500) {
			edges = e.Append(edges, at, at+s.length, s.omega)
			at += s.length
			step := new(big.Float).Mul(number(s.omega), number(float64(s.length)))
			step.Mul(step.Quo(step, number(1e9)), perRad)
			phase.Add(phase, step)
		}
		edges = e.Append(edges, at, at+2, 0) // a boundary may lie right at the end
		assertLegal(t, edges)
		got, _ := phase.Float64()
		assert.GreaterOrEqual(t, float64(e.Count()), math.Floor(got-1e-6))
		assert.LessOrEqual(t, float64(e.Count()), math.Floor(got+1e-6))
	})
}

// How time is cut into spans changes nothing.
func TestQuadratureCutsAreSeamless(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		cfg := wire.Quadrature{Lines: rapid.IntRange(1, 5000).Draw(t, "lines"), Index: true}
		whole, cut := quadrature(t, cfg), quadrature(t, cfg)
		var want, got []signal.Edge
		at := signal.Time(0)
		for _, s := range profile(t, 300) {
			end := at + s.length
			want = whole.Append(want, at, end, s.omega)
			for at < end {
				to := min(end, at+signal.Time(rapid.Int64Range(1, int64(s.length)).Draw(t, "cut")))
				n := len(got)
				got = cut.Append(got, at, to, s.omega)
				for _, e := range got[n:] {
					require.True(t, at <= e.At && e.At < to, "edge at %d in [%d, %d)", e.At, at, to)
				}
				at = to
			}
		}
		assert.Equal(t, want, got)
		assert.Equal(t, whole.Count(), cut.Count())
	})
}

func TestQuadratureAllocatesNothing(t *testing.T) {
	e := quadrature(t, wire.Quadrature{Lines: 1024, Index: true})
	edges := make([]signal.Edge, 0, 1000)
	at := signal.Time(0)
	assert.Zero(t, testing.AllocsPerRun(100, func() {
		edges = e.Append(edges[:0], at, at+signal.Millisecond, 200)
		at += signal.Millisecond
	}))
}

func FuzzQuadrature(f *testing.F) {
	f.Add(uint32(1024), 100.0, -100.0, 3.0, int64(1000), int64(7))
	f.Add(uint32(1), 1e300, math.Inf(-1), math.NaN(), int64(1), int64(1))
	f.Add(uint32(99_999), -1e6, 1e6, -1e6, int64(2), int64(-5))
	f.Fuzz(func(t *testing.T, lines uint32, first, second, third float64, length, gap int64) {
		e := quadrature(t, wire.Quadrature{Lines: int(lines%100_000) + 1, Index: true})
		length %= 100_000
		at := signal.Time(0)
		var edges []signal.Edge
		for range 3 {
			for _, omega := range []float64{first, second, third} {
				edges = e.Append(edges, at, at+signal.Time(length), omega)
				at += signal.Time(length + gap%10)
			}
		}
		assertLegal(t, edges)
	})
}
