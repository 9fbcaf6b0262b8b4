package decode_test

import (
	"encoding/json"
	"math"
	"math/rand/v2"
	"os"
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"hilrig/rig/decode"
	"hilrig/rig/signal"
	"hilrig/rig/simulated"
	"hilrig/stimulus/wire"
)

// The lines of a shaft in these tests.
const (
	shaftA signal.Line = iota
	shaftB
)

func angle(t require.TestingT, cfg wire.Quadrature) *decode.Angle {
	d, err := decode.NewAngle(cfg, shaftA, shaftB)
	require.NoError(t, err)
	d.Reset(0, false, false)
	return d
}

func tachoAngle(t require.TestingT, pulses int) *decode.Angle {
	d, err := decode.NewTachoAngle(wire.Tacho{Pulses: pulses}, shaftA)
	require.NoError(t, err)
	d.Reset(0, false, false)
	return d
}

// readAngle feeds edges and returns the samples that they gave.
func readAngle(d *decode.Angle, edges ...signal.Edge) (samples []decode.AngleSample) {
	for _, e := range edges {
		samples = d.Edge(e, samples)
	}
	if len(edges) > 0 {
		samples = d.Until(edges[len(edges)-1].At, samples)
	}
	return samples
}

// Every step of the published table, from each pair of levels to each.
func TestAngleSteps(t *testing.T) {
	data, err := os.ReadFile("testdata/quadrature.json")
	require.NoError(t, err)
	var table struct {
		Source string
		Steps  map[string]any
	}
	require.NoError(t, json.Unmarshal(data, &table))
	require.Len(t, table.Steps, 16)
	for name, want := range table.Steps {
		before, after, ok := strings.Cut(name, "->")
		require.True(t, ok)
		// In the table B leads in the positive sense.
		d, err := decode.NewAngle(wire.Quadrature{Lines: 1, Reverse: true}, shaftA, shaftB)
		require.NoError(t, err)
		// From the neighbour of which the table says that it leads to before, so that a sense is known.
		lead := map[string]string{"00": "10", "01": "00", "11": "01", "10": "11"}[before]
		assert.EqualValues(t, 1, table.Steps[lead+"->"+before])
		d.Reset(0, lead[0] == '1', lead[1] == '1')
		at := signal.Time(0)
		var samples []decode.AngleSample
		for _, pair := range [][2]string{{lead, before}, {before, after}} {
			at += ms
			for i, line := range []signal.Line{shaftA, shaftB} {
				if pair[0][i] != pair[1][i] {
					samples = d.Edge(signal.Edge{At: at, Line: line, Level: pair[1][i] == '1'}, samples)
				}
			}
		}
		samples = d.Until(at, samples)
		last := samples[len(samples)-1]
		if want == "illegal" {
			assert.EqualValues(t, 3, last.Count, "%s goes on in the sense that was: %s", name, table.Source)
			assert.EqualValues(t, 1, d.Tally().Illegal, name)
			continue
		}
		assert.EqualValues(t, 1+want.(float64), last.Count, "%s: %s", name, table.Source)
		assert.Zero(t, d.Tally().Illegal, name)
		assert.Equal(t, want.(float64) < 0, d.Tally().Backwards == 1, name)
	}
}

// A shaft that turns to and fro, as the encoder plays it: each count at its time.
func TestAngleFollowsAnEncoder(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		cfg := wire.Quadrature{Lines: rapid.SampledFrom([]int{1, 7, 100, 1024}).Draw(t, "lines"), Reverse: rapid.Bool().Draw(t, "reverse")}
		e, err := wire.NewQuadrature(cfg, shaftA, shaftB, 0)
		require.NoError(t, err)
		d := angle(t, cfg)
		var edges []signal.Edge
		var samples []decode.AngleSample
		for at := signal.Time(0); at < 50*ms; at += ms {
			edges = e.Append(edges[:0], at, at+ms, rapid.Float64Range(-300, 300).Draw(t, "speed"))
			n := len(samples)
			for _, edge := range edges {
				samples = d.Edge(edge, samples)
			}
			samples = d.Until(at+ms-1, samples)
			require.Len(t, samples[n:], len(edges))
			for i, s := range samples[n:] {
				require.Equal(t, edges[i].At, s.At)
				require.Zero(t, s.Uncertainty)
			}
			if len(samples) > 0 {
				require.Equal(t, e.Count(), samples[len(samples)-1].Count)
			}
		}
		tally := d.Tally()
		require.EqualValues(t, len(samples), tally.Edges)
		require.Equal(t, decode.AngleTally{Edges: tally.Edges, Backwards: tally.Backwards}, tally)
	})
}

// turning is a shaft's encoder that has kept its own count.
type turning struct {
	edges []signal.Edge
	count []int64 // after each
}

// at returns the count at a time.
func (r *turning) at(t signal.Time) int64 {
	n, _ := slices.BinarySearchFunc(r.edges, t, func(e signal.Edge, t signal.Time) int {
		if e.At <= t {
			return -1
		}
		return 1
	})
	if n == 0 {
		return 0
	}
	return r.count[n-1]
}

// spun returns the edges of a shaft whose speed in rad/s is a function of time in s.
func spun(t require.TestingT, lines int, length signal.Time, speed func(at float64) float64) (r turning) {
	e, err := wire.NewQuadrature(wire.Quadrature{Lines: lines}, shaftA, shaftB, 0)
	require.NoError(t, err)
	count := int64(0)
	for at := signal.Time(0); at < length; at += ms / 10 {
		omega := speed(at.Seconds())
		r.edges = e.Append(r.edges, at, at+ms/10, omega)
		for len(r.count) < len(r.edges) {
			count++
			if omega < 0 {
				count -= 2
			}
			r.count = append(r.count, count)
		}
	}
	require.Equal(t, e.Count(), count)
	return r
}

// throughSampler returns what a sampler makes of edges of two lines.
func throughSampler(t require.TestingT, edges []signal.Edge, s simulated.Sampler, length signal.Time) (out []signal.Edge) {
	layout := signal.Layout{Lines: []signal.LineSpec{signal.Spec(signal.ShaftA, 0), signal.Spec(signal.ShaftB, 0)}}
	bench, err := simulated.New(simulated.Settings{Layout: layout, Board: &tape{edges: edges}, Sampler: s})
	require.NoError(t, err)
	defer bench.Close()
	for at := ms; at <= length; at += ms {
		require.NoError(t, bench.Wait(at))
		out, err = bench.Captured(out)
		require.NoError(t, err)
	}
	return out
}

// runUp is a shaft that comes to 240 rad/s in half a second, turns there and coasts.
func runUp(at float64) float64 {
	switch {
	case at < 0.5:
		return 480 * at
	case at < 0.6:
		return 240
	}
	return max(0, 240-300*(at-0.6))
}

// A sampler that stalls loses some hundred counts. The samples are right all the same, each
// within its uncertainty, or say that they are not.
func TestAngleOverStalls(t *testing.T) {
	const length = 1500 * ms
	for _, row := range []struct {
		name        string
		lines       int
		least, most signal.Time
		breaks      [2]int64
	}{
		{"short stalls", 1024, 20 * us, 100 * us, [2]int64{0, 0}},
		{"stalls of some turns of the levels", 1024, 50 * us, 200 * us, [2]int64{0, 2}},
		{"long stalls", 1024, 2 * ms, 5 * ms, [2]int64{20, 300}},
		{"coarse encoder", 16, 50 * us, 300 * us, [2]int64{0, 0}},
	} {
		t.Run(row.name, func(t *testing.T) {
			r := spun(t, row.lines, length, runUp)
			random := rand.New(rand.NewPCG(5, 8))
			s := simulated.Sampler{Period: us, Stalls: simulated.Stalls{Mean: 10 * ms, Least: row.least, Most: row.most, Draw: random.Uint64}}
			edges := throughSampler(t, r.edges, s, length)
			d := angle(t, wire.Quadrature{Lines: row.lines})
			samples := readAngle(d, edges...)
			offset := int64(0) // of the count since a break
			for i, sample := range samples {
				low, high := r.at(sample.At-sample.Uncertainty), r.at(sample.At)
				if sample.Break {
					offset = sample.Count - high
				}
				got := sample.Count - offset
				require.True(t, min(low, high) <= got && got <= max(low, high), "sample %d: %+v, true count %d to %d", i, sample, low, high)
			}
			tally := d.Tally()
			assert.True(t, tally.Breaks >= row.breaks[0] && tally.Breaks <= row.breaks[1], "%+v", tally)
			t.Logf("%+v of %d", tally, len(r.edges))
			if row.lines > 100 {
				assert.NotZero(t, tally.Unseen)
			}
		})
	}
}

func TestTachoAngle(t *testing.T) {
	d := tachoAngle(t, 20)
	assert.EqualValues(t, 40, d.PerTurn())
	assert.InDelta(t, math.Pi/2, d.Radians(10), 1e-15)
	samples := readAngle(d,
		signal.Edge{At: ms, Level: true, Uncertainty: 9},
		signal.Edge{At: 2 * ms},
		signal.Edge{At: 3 * ms, Level: true},
		signal.Edge{At: 4 * ms, Level: true}, // one was not seen
		signal.Edge{At: 5 * ms, Line: shaftB},
		signal.Edge{At: 5 * ms, Uncertainty: 2000}, // the fall
		signal.Edge{At: 6 * ms, Uncertainty: 2000}, // nobody looked for 2 us
		signal.Edge{At: 5 * ms, Level: true},       // of the past
	)
	assert.Equal(t, []decode.AngleSample{
		{At: ms, Uncertainty: 9, Count: 1}, {At: 2 * ms, Count: 2}, {At: 3 * ms, Count: 3},
		{At: 4 * ms, Count: 5}, {At: 5 * ms, Uncertainty: 2000, Count: 6},
	}, samples)
	assert.Equal(t, decode.AngleTally{Edges: 5, Unseen: 2, Disorder: 1}, d.Tally())
}

func TestAngleIllegalStepGoesOnBackwards(t *testing.T) {
	d := angle(t, wire.Quadrature{Lines: 10})
	samples := readAngle(d, signal.Edge{At: ms, Line: shaftB, Level: true}, signal.Edge{At: 2 * ms, Line: shaftA, Level: true},
		signal.Edge{At: 3 * ms, Line: shaftA}, signal.Edge{At: 3 * ms, Line: shaftB})
	assert.Equal(t, []decode.AngleSample{{At: ms, Count: -1}, {At: 2 * ms, Count: -2}, {At: 3 * ms, Count: -4}}, samples)
	assert.Equal(t, decode.AngleTally{Edges: 4, Illegal: 1, Backwards: 4}, d.Tally())
}

// fast is a shaft that gives a count every 10 us, up to the count.
func fast(t require.TestingT, d *decode.Angle, counts int) (at signal.Time, samples []decode.AngleSample) {
	for i := range counts {
		at += 10 * us
		samples = d.Edge(signal.Edge{At: at, Line: signal.Line(i % 2), Level: i%4 < 2}, samples)
	}
	samples = d.Until(at, samples)
	require.EqualValues(t, counts, samples[len(samples)-1].Count)
	return at, samples
}

// gap is a time in which nobody looked, as a sampler tells it of both lines at their levels.
func gap(d *decode.Angle, at, late signal.Time, a, b bool) []decode.AngleSample {
	samples := d.Edge(signal.Edge{At: at, Uncertainty: uint32(late), Line: shaftA, Level: a}, nil)
	samples = d.Edge(signal.Edge{At: at, Uncertainty: uint32(late), Line: shaftB, Level: b}, samples)
	return d.Until(at, samples)
}

func TestAngleAfterAGap(t *testing.T) {
	for _, row := range []struct {
		name       string
		rest, late signal.Time // seen at rest, and then not seen
		a, b       bool        // the levels then; they were low after the last count
		want       []decode.AngleSample
		unseen     int64
	}{
		{"came to rest before", ms, 200 * us, false, false, nil, 0},
		{"moved a little after", ms, 200 * us, true, false, []decode.AngleSample{{Count: 101}}, 0},
		{"goes on, and round the levels to where it was", 0, 200 * us, false, false, []decode.AngleSample{{Count: 120}}, 19},
		{"goes on, and a little slower", 0, 200 * us, false, true, []decode.AngleSample{{Count: 119}}, 18},
		{"goes on, and a little faster", 0, 200 * us, true, false, []decode.AngleSample{{Count: 121}}, 20},
		{"too far from where it can be", 0, 200 * us, true, true, []decode.AngleSample{{Count: 122, Break: true}}, 21},
		{"too long", 0, 5 * ms, true, false, []decode.AngleSample{{Count: 601, Break: true}}, 500},
	} {
		t.Run(row.name, func(t *testing.T) {
			d := angle(t, wire.Quadrature{Lines: 10})
			at, _ := fast(t, d, 100)
			at += row.rest + row.late
			got := gap(d, at, row.late, row.a, row.b)
			for i := range row.want {
				row.want[i].At, row.want[i].Uncertainty = at, row.late
			}
			assert.Equal(t, row.want, got)
			assert.Equal(t, row.unseen, d.Tally().Unseen)
		})
	}
}

// Soon after a break nobody knows the speed yet: a second gap is a break too.
func TestAngleTwoGaps(t *testing.T) {
	d := angle(t, wire.Quadrature{Lines: 10})
	at, _ := fast(t, d, 100)
	at += 5 * ms
	require.True(t, gap(d, at, 5*ms, true, false)[0].Break)
	at += 100 * us
	again := gap(d, at, 100*us, true, true)
	require.Len(t, again, 1)
	assert.True(t, again[0].Break)
	assert.EqualValues(t, 2, d.Tally().Breaks)
}

func TestAngleWhereTheShaftStandsAtFirst(t *testing.T) {
	d := angle(t, wire.Quadrature{Lines: 10})
	samples := readAngle(d,
		signal.Edge{At: us, Line: shaftA, Level: true, Uncertainty: 1000}, signal.Edge{At: us, Line: shaftB, Level: true, Uncertainty: 1000},
		signal.Edge{At: ms, Line: shaftA})
	assert.Equal(t, []decode.AngleSample{{At: ms, Count: 1}}, samples)
	assert.Zero(t, d.Tally().Illegal)
}

func TestAngleRate(t *testing.T) {
	d := angle(t, wire.Quadrature{Lines: 100})
	r := spun(t, 100, 100*ms, func(float64) float64 { return -50 })
	assert.Zero(t, d.Rate(10*ms))
	_, ok := d.Last()
	assert.False(t, ok)
	samples := readAngle(d, r.edges...)
	want := -50 * 400 / (2 * math.Pi)
	for _, span := range []signal.Time{0, ms, 10 * ms} {
		assert.InDelta(t, want, d.Rate(span), 1e-4*math.Abs(want), "over %v", span)
	}
	last, ok := d.Last()
	assert.True(t, ok)
	assert.Equal(t, samples[len(samples)-1], last)
	d.Until(200*ms, nil)
	assert.InDelta(t, -1/(200*ms-last.At).Seconds(), d.Rate(10*ms), 1e-9, "at rest it goes to nothing")
}

func TestAngleRefuses(t *testing.T) {
	_, err := decode.NewAngle(wire.Quadrature{}, shaftA, shaftB)
	assert.ErrorContains(t, err, "encoder of 0 lines per turn")
	_, err = decode.NewAngle(wire.Quadrature{Lines: 1}, shaftA, shaftA)
	assert.ErrorContains(t, err, "give each its own")
	_, err = decode.NewTachoAngle(wire.Tacho{}, shaftA)
	assert.ErrorContains(t, err, "tacho of 0 pulses per turn")
}

func TestAngleAllocatesNothing(t *testing.T) {
	d := angle(t, wire.Quadrature{Lines: 1024})
	r := spun(t, 1024, 100*ms, func(float64) float64 { return 100 })
	samples := make([]decode.AngleSample, 0, 10)
	next := 0
	assert.Zero(t, testing.AllocsPerRun(1000, func() {
		samples = d.Edge(r.edges[next], samples[:0])
		next++
	}))
	assert.Len(t, samples, 1)
}

// edgesOf makes edges of two lines from bytes: whatever a wire and a sampler may do.
func edgesOf(data []byte, lines int) (edges []signal.Edge) {
	at := signal.Time(0)
	for ; len(data) >= 3; data = data[3:] {
		at += signal.Time(data[0]) * signal.Time(data[0]) * 50
		e := signal.Edge{At: at, Line: signal.Line(int(data[1]>>1) % lines), Level: data[1]&1 == 1}
		if data[1]&0x40 != 0 {
			e.Uncertainty = uint32(data[2]) * uint32(data[2]) * 100
		}
		if data[1]&0x80 != 0 {
			e.At -= signal.Time(data[2])
		}
		edges = append(edges, e)
	}
	return edges
}

// bytesOf is the inverse of edgesOf for seeds.
func bytesOf(steps ...[3]byte) (data []byte) {
	for _, s := range steps {
		data = append(data, s[:]...)
	}
	return data
}

func FuzzAngle(f *testing.F) {
	f.Add(bytesOf([3]byte{100, 1, 0}, [3]byte{100, 3, 0}, [3]byte{100, 0, 0}, [3]byte{100, 2, 0}), false)
	f.Add(bytesOf([3]byte{100, 0x41, 255}, [3]byte{0, 0x43, 255}, [3]byte{1, 0x80, 20}), true)
	f.Fuzz(func(t *testing.T, data []byte, tacho bool) {
		d := angle(t, wire.Quadrature{Lines: 10})
		if tacho {
			d = tachoAngle(t, 10)
		}
		samples := readAngle(d, edgesOf(data, 3)...)
		count, at := int64(0), signal.Time(0)
		for _, s := range samples {
			require.GreaterOrEqual(t, s.At, at)
			require.True(t, s.Count != count || s.Break, "a sample without a step")
			require.True(t, !tacho || s.Count >= count, "a tacho only counts up")
			count, at = s.Count, s.At
		}
		require.LessOrEqual(t, int64(len(samples)), int64(len(data)/3))
		require.False(t, math.IsNaN(d.Rate(ms)) || math.IsInf(d.Rate(ms), 0))
	})
}
