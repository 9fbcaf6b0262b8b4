package simulated_test

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"hilrig/rig/signal"
	"hilrig/rig/simulated"
)

// stalled returns an edge output with stalls that do not hang on how often it is asked.
func stalled(least, most signal.Time) simulated.EdgeOutput {
	return simulated.EdgeOutput{Stalls: simulated.Stalls{Mean: 300 * us, Least: least, Most: most, Draw: counter()}}
}

// through drives edges and returns those that the wire had.
func through(t require.TestingT, s simulated.Settings, edges []signal.Edge, end, step signal.Time) []signal.Edge {
	e := newEcho()
	e.delay = 0
	s.Layout, s.Board = layout(), e
	b, err := simulated.New(s)
	require.NoError(t, err)
	var back []signal.Edge
	_, err = b.ReadBack(nil)
	require.NoError(t, err)
	require.NoError(t, b.Drive(edges, end))
	for at := signal.Time(0); at < end; {
		at = min(at+step, end)
		require.NoError(t, b.Wait(at))
		back, err = b.ReadBack(back)
		require.NoError(t, err)
	}
	return back
}

// TestEdgeOutputIsLateAndKeepsOrder draws edges and stalls: each edge is played, none
// early, none later than the stalls that it may have met, in order, and the cut of
// time into steps changes nothing.
func TestEdgeOutputIsLateAndKeepsOrder(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		most := signal.Time(rapid.Int64Range(int64(us), int64(100*us)).Draw(t, "most"))
		var edges []signal.Edge
		at := signal.Time(0)
		for i := range rapid.IntRange(0, 40).Draw(t, "edges") {
			at += signal.Time(rapid.Int64Range(int64(2*us), int64(50*us)).Draw(t, "gap"))
			edges = append(edges, signal.Edge{At: at, Line: lineIn, Level: i&1 == 0})
		}
		end := at + 10*ms
		got := through(t, simulated.Settings{EdgeOutput: stalled(most/2, most)}, edges, end, end)
		step := signal.Time(rapid.Int64Range(int64(5*us), int64(end)).Draw(t, "step"))
		assert.Equal(t, got, through(t, simulated.Settings{EdgeOutput: stalled(most/2, most)}, edges, end, step))
		require.Len(t, got, len(edges))
		last := signal.Time(-1)
		for i, e := range got {
			require.Equal(t, edges[i].Level, e.Level)
			require.GreaterOrEqual(t, e.At, edges[i].At, "no edge is early")
			require.Less(t, e.At, edges[i].At+2*most+20*us)
			require.Greater(t, e.At, last)
			last = e.At
		}
	})
}

func TestEdgeOutputStallsAsOftenAsDeclared(t *testing.T) {
	var edges []signal.Edge
	for i := range signal.Time(20000) {
		edges = append(edges, signal.Edge{At: 50*us + i*50*us, Line: lineIn, Level: i&1 == 0})
	}
	p := simulated.EdgeOutput{Stalls: simulated.Stalls{Mean: 5 * ms, Least: 10 * us, Most: 30 * us, Draw: counter()}}
	late := 0
	for i, e := range through(t, simulated.Settings{EdgeOutput: p}, edges, signal.Second+ms, ms) {
		if by := e.At - edges[i].At; by > 0 {
			late++
			assert.LessOrEqual(t, by, 30*us)
		}
	}
	assert.InDelta(t, 80, late, 30, "200 stalls a second of 20 us, an edge every 50 us")
}

func TestMessagesBeginLateAndGoOn(t *testing.T) {
	e := newEcho()
	stalls := []uint64{uint64(ms), 0, uint64(1000 * ms)} // from 1 ms on, once
	n := 0
	draw := func() uint64 { n++; return stalls[min(n, len(stalls))-1] }
	b, err := simulated.New(simulated.Settings{Layout: layout(), Board: e, EdgeOutput: simulated.EdgeOutput{
		Stalls: simulated.Stalls{Mean: signal.Second, Least: 300 * us, Most: 300 * us, Draw: draw},
	}})
	require.NoError(t, err)
	assert.False(t, b.Exact())
	_, err = b.ReadBack(nil)
	require.NoError(t, err)
	planned, err := b.Send(0, ms+100*us, []byte{0x55, 0x55})
	require.NoError(t, err)
	require.NoError(t, b.Wait(10*ms))
	back, err := b.ReadBack(nil)
	require.NoError(t, err)
	require.NotEmpty(t, back)
	assert.Equal(t, ms+300*us, back[0].At, "the start bit waits for the end of the stall")
	length := planned - (ms + 100*us)
	assert.Greater(t, back[len(back)-1].At, ms+300*us+length*8/10)
	assert.Less(t, back[len(back)-1].At, ms+300*us+length, "and the rest follows at the port's pace")
}

func TestDrivenLinesAreSampledToo(t *testing.T) {
	back := through(t, simulated.Settings{Sampler: simulated.Sampler{Period: 10 * us}}, pulse(1000, 30*us), ms, ms)
	assert.Equal(t, []signal.Edge{
		{At: 10 * us, Uncertainty: uint32(20 * us), Line: lineIn, Level: true},
		{At: 40 * us, Uncertainty: uint32(20 * us), Line: lineIn},
	}, back)
	assert.Empty(t, through(t, simulated.Settings{}, pulse(1000, 30*us), ms, ms), "a perfect bench has nothing to tell")
}

func TestStallsHaveToBePossible(t *testing.T) {
	for _, s := range []simulated.Stalls{
		{Mean: ms},
		{Mean: ms, Least: 2, Most: 1, Draw: counter()},
		{Mean: -1},
		{Mean: ms, Most: 2 * signal.Second, Draw: counter()},
	} {
		_, err := simulated.New(simulated.Settings{Layout: layout(), Board: newEcho(), EdgeOutput: simulated.EdgeOutput{Stalls: s}})
		assert.ErrorContains(t, err, "stalls")
	}
}
