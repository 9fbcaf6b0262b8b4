package suites

import (
	"cmp"
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"hilrig/rig"
	"hilrig/rig/board"
	"hilrig/rig/signal"
	"hilrig/rig/simulated"
	"hilrig/suites/record"
	"hilrig/suites/report"
)

// levelsAt returns the levels of all lines at t after edges, of each line in order of
// time.
func levelsAt(levels []bool, edges []signal.Edge, t signal.Time) []bool {
	levels = slices.Clone(levels)
	for _, e := range edges {
		if e.At <= t {
			levels[e.Line] = e.Level
		}
	}
	return levels
}

// However much was given up and wherever the moments lie, what is kept has the levels
// that were on the wires then.
func TestRecordedWiresHaveTheLevelsOfTheirTime(t *testing.T) {
	layout := signal.Layout{Lines: []signal.LineSpec{{Name: "a"}, {Name: "b", Idle: true}, {Name: "c"}}}
	idle := []bool{false, true, false}
	rapid.Check(t, func(t *rapid.T) {
		k := newEdgeRecorder(layout, rapid.IntRange(1, 60).Draw(t, "room"))
		var all []signal.Edge
		clock := make([]signal.Time, 3) // lines are told apart from each other
		for range rapid.IntRange(1, 80).Draw(t, "edges") {
			line := rapid.IntRange(0, 2).Draw(t, "line")
			clock[line] += signal.Time(rapid.IntRange(1, 300).Draw(t, "ms")) * signal.Millisecond
			e := signal.Edge{At: clock[line], Line: signal.Line(line), Level: rapid.Bool().Draw(t, "level")}
			all = append(all, e)
			k.add([]signal.Edge{e}, nil)
		}
		last := slices.Max(clock)
		until := signal.Time(rapid.Int64Range(0, int64(last)).Draw(t, "until"))
		k.hold(until)
		var moments []signal.Time
		for range rapid.IntRange(1, 4).Draw(t, "moments") {
			moments = append(moments, signal.Time(rapid.Int64Range(0, int64(last)).Draw(t, "at")))
		}
		slices.Sort(moments)
		w := k.wires(moments)
		if w == nil {
			return // nothing is left of them
		}
		require.LessOrEqual(t, w.To, until)
		require.True(t, slices.IsSortedFunc(w.Edges, func(a, b signal.Edge) int { return cmp.Compare(a.At, b.At) }))
		for _, at := range moments {
			for _, at := range []signal.Time{at - around + 1, at - 1, at, at + 1, at + around - 1} {
				if at < w.From || at >= w.To || at < k.from {
					continue
				}
				got := levelsAt(w.Levels, w.Edges, at)
				require.Equal(t, append(levelsAt(idle, all, at), true), got, "at %v of %v to %v", at, w.From, w.To)
			}
		}
		end := levelsAt(w.Levels, w.Edges, w.To)
		require.False(t, end[len(end)-1], "nothing is kept after the end")
	})
}

// A run on a bench in real time keeps what was on its wires where a check failed, and
// nothing of a case that passed. The bench here is one in memory whose time is virtual
// and whose sampler looks each 175 ns: its own list of edges is what was on the wires. Once
// it reads back all lines that it drives, once none of the encoders', as benches on pins.
func TestARunInRealTimeKeepsTheWiresOfWhatFailed(t *testing.T) {
	for name, deaf := range map[string]bool{"all lines are sampled": false, "encoders are not": true} {
		t.Run(name, func(t *testing.T) { recordsWhatFailed(t, deaf) })
	}
}

// deafBench samples no encoder of its own.
type deafBench struct{ *simulated.Bench }

func (b deafBench) Samples(l signal.Line) bool { return !ofEncoder(b.Layout().Lines[l].Name) }

func (b deafBench) LateStretches(dst []signal.LateStretch) []signal.LateStretch { return dst }

func (b deafBench) ReadBack(dst []signal.Edge) ([]signal.Edge, error) {
	dst, err := b.Bench.ReadBack(dst)
	return slices.DeleteFunc(dst, func(e signal.Edge) bool { return !b.Samples(e.Line) }), err
}

func ofEncoder(line string) bool {
	return strings.HasSuffix(line, "_a") || strings.HasSuffix(line, "_b")
}

func recordsWhatFailed(t *testing.T, deaf bool) {
	s := load(t, "built-in:yaw_sign", short)
	var wires []signal.Edge
	layout := s.wiring.Layout()
	require.NoError(t, s.On(&Real{Kind: "pins", Board: true, Restarts: true, Open: func(layout signal.Layout, b board.Board) (rig.Bench, error) {
		tap := func(driven, captured []signal.Edge) { wires = signal.Merge(wires, [][]signal.Edge{driven, captured}) }
		bench, err := simulated.New(simulated.Settings{Layout: layout, Board: b, Tap: tap, Sampler: simulated.Sampler{Period: 175}})
		if deaf {
			return deafBench{bench}, err
		}
		return bench, err
	}}))
	found := map[int]*report.Wires{}
	var reported []int
	r, _, err := s.Run(t.Context(), Options{
		Wires: func(suite, index int, w *report.Wires) {
			assert.Zero(t, suite)
			assert.NotContains(t, reported, index, "wires come before their case")
			found[index] = w
		},
		Case: func(_, index int, _ record.Case) { reported = append(reported, index) },
	})
	require.NoError(t, err)
	failed := 0
	for i := range r.Suites[0].Cases {
		c := &r.Suites[0].Cases[i]
		w := found[i]
		if c.Verdict == record.Pass {
			assert.Nil(t, w)
			continue
		}
		failed++
		require.NotNil(t, w)
		assert.Greater(t, len(w.Edges), 1000)
		sameEdges(t, layout, wires, w, deaf)
		for _, at := range momentsOf(c) {
			assert.True(t, at > w.From && at < w.To)
			assert.True(t, levelsAt(w.Levels, w.Edges, at)[len(layout.Lines)])
		}
	}
	assert.NotZero(t, failed)
}

// sameEdges holds the edges kept, one stretch, against those that were on the wires.
// They were seen by the next look; of encoders that nobody looks at they stand as played.
func sameEdges(t *testing.T, layout signal.Layout, wires []signal.Edge, w *report.Wires, deaf bool) {
	t.Helper()
	for line := range layout.Lines {
		uncertainty := 176.0
		if deaf && ofEncoder(layout.Lines[line].Name) {
			uncertainty = 0
		}
		on := func(edges []signal.Edge, from, to signal.Time) (list []signal.Edge) {
			for _, e := range edges {
				if int(e.Line) == line && e.At > from && e.At < to {
					list = append(list, e)
				}
			}
			return list
		}
		got := on(w.Edges, w.From+200, w.To)
		require.GreaterOrEqual(t, len(got), len(on(wires, w.From+400, w.To-400)), layout.Lines[line].Name)
		if len(got) == 0 {
			continue
		}
		want := on(wires, got[0].At-200, got[len(got)-1].At+1)
		require.Len(t, got, len(want), layout.Lines[line].Name)
		for i := range want {
			require.Equal(t, want[i].Level, got[i].Level)
			require.InDelta(t, float64(want[i].At), float64(got[i].At), uncertainty, layout.Lines[line].Name)
		}
	}
}

// A run that is broken off keeps what was on the wires last, even as early as in the power-up.
func TestARunThatBreaksOffKeepsTheWiresOfItsEnd(t *testing.T) {
	for _, at := range []signal.Time{signal.Second, 4 * signal.Second} {
		t.Run(at.String(), func(t *testing.T) { breaksOff(t, at) })
	}
}

func breaksOff(t *testing.T, at signal.Time) {
	s := load(t, "", short)
	broke := assert.AnError
	var wires []signal.Edge
	tap := func(driven, captured []signal.Edge) { wires = signal.Merge(wires, [][]signal.Edge{driven, captured}) }
	require.NoError(t, s.On(&Real{Kind: "pins", Board: true, Restarts: true, Open: func(layout signal.Layout, b board.Board) (rig.Bench, error) {
		bench, err := simulated.New(simulated.Settings{Layout: layout, Board: b, Tap: tap, Sampler: simulated.Sampler{Period: 175}})
		return breaking{Bench: bench, at: at, with: broke}, err
	}}))
	var last *report.Wires
	r, _, err := s.Run(t.Context(), Options{Wires: func(_, index int, w *report.Wires) {
		assert.Zero(t, index)
		last = w
	}})
	require.ErrorIs(t, err, broke)
	assert.Equal(t, "not run", r.Suites[0].Cases[0].Verdict)
	require.NotNil(t, last)
	assert.InDelta(t, at.Seconds(), last.To.Seconds(), 0.2)
	assert.Greater(t, last.To-last.From, around/2)
	assert.NotEmpty(t, last.Edges)
	sameEdges(t, s.wiring.Layout(), wires, last, false)
}

// breaking is a bench that breaks at some time.
type breaking struct {
	*simulated.Bench
	at   signal.Time
	with error
}

func (b breaking) Wait(t signal.Time) error {
	if t > b.at {
		return b.with
	}
	return b.Bench.Wait(t)
}
