package signal

import (
	"slices"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"
)

func TestMergeIsAStableSort(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		n := rapid.IntRange(0, 9).Draw(t, "streams")
		streams := make([][]Edge, n)
		var all []Edge
		for i := range streams {
			at := Time(0)
			for range rapid.IntRange(0, 12).Draw(t, "edges") {
				at += Time(rapid.IntRange(0, 3).Draw(t, "gap"))
				e := Edge{At: at, Line: Line(i), Level: len(streams[i])%2 == 0}
				streams[i] = append(streams[i], e)
				all = append(all, e)
			}
		}
		slices.SortStableFunc(all, func(a, b Edge) int { return int(a.At - b.At) })
		got := Merge(nil, streams)
		require.Equal(t, len(all), len(got))
		for i := range all {
			require.Equal(t, all[i], got[i], "edge %d", i)
		}
	})
}

func TestMergeAllocatesNothing(t *testing.T) {
	streams, edges := quadratureLike()
	dst := make([]Edge, 0, 1000)
	work := make([][]Edge, len(streams))
	assert.Zero(t, testing.AllocsPerRun(100, func() {
		copy(work, streams)
		dst = Merge(dst[:0], work)
	}))
	assert.Len(t, dst, edges)
}

// quadratureLike returns four streams of 30 evenly spaced edges, their phases apart.
func quadratureLike() (streams [][]Edge, edges int) {
	for s := range 4 {
		var one []Edge
		for i := range 30 {
			one = append(one, Edge{At: Time(i*33000 + s*7001), Line: Line(s)})
		}
		streams = append(streams, one)
		edges += len(one)
	}
	return streams, edges
}

func BenchmarkMerge(b *testing.B) {
	streams, edges := quadratureLike()
	dst := make([]Edge, 0, 1000)
	work := make([][]Edge, len(streams))
	for b.Loop() {
		copy(work, streams)
		dst = Merge(dst[:0], work)
	}
	b.ReportMetric(float64(b.Elapsed().Nanoseconds())/float64(b.N)/float64(edges), "ns/edge")
}

func TestTimeInSeconds(t *testing.T) {
	for _, row := range []struct {
		name    string
		seconds float64
		time    Time
		text    string
	}{
		{"zero", 0, 0, "0 s"},
		{"a tick", 0.001, Millisecond, "0.001 s"},
		{"nearest, not below", 1.0000000006, Second + 1, "1.000000001 s"},
		{"negative", -0.25, -250 * Millisecond, "-0.25 s"},
	} {
		t.Run(row.name, func(t *testing.T) {
			assert.Equal(t, row.time, FromSeconds(row.seconds))
			assert.Equal(t, row.text, row.time.String())
		})
	}
}

func TestLayoutFindsLinesByName(t *testing.T) {
	l := Layout{Lines: []LineSpec{{Name: "steer", Role: SteerPulse}, {Name: "motor_front_left", Direction: Capture, Role: Motor, Wheel: FrontLeft}}}
	line, ok := l.Line("motor_front_left")
	require.True(t, ok)
	assert.Equal(t, Line(1), line)
	assert.Equal(t, "capture", l.Lines[line].Direction.String())
	_, ok = l.Line("motor_front_middle")
	assert.False(t, ok)
}
