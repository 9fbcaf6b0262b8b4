package simulated_test

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"hilrig/rig/signal"
	"hilrig/rig/simulated"
)

// play drives edges to an echo without delay and returns what was captured,
// time cut into steps of the given length.
func play(t require.TestingT, s simulated.Sampler, edges []signal.Edge, end, step signal.Time) []signal.Edge {
	e := newEcho()
	e.delay = 0
	b, err := simulated.New(simulated.Settings{Layout: layout(), Board: e, Sampler: s})
	require.NoError(t, err)
	require.NoError(t, b.Drive(edges, end))
	var got []signal.Edge
	for at := signal.Time(0); at < end; {
		at = min(at+step, end)
		require.NoError(t, b.Wait(at))
		got, err = b.Captured(got)
		require.NoError(t, err)
	}
	return got
}

func TestSamplerStampsTheNextSample(t *testing.T) {
	got := play(t, simulated.Sampler{Period: 10 * us}, append(pulse(1000, 30*us), pulse(62*us, 5*us)...), ms, ms)
	assert.Equal(t, []signal.Edge{
		{At: 10 * us, Uncertainty: uint32(20 * us), Line: lineOut, Level: true},
		{At: 40 * us, Uncertainty: uint32(20 * us), Line: lineOut},
	}, got, "the pulse of 5 us fell between two samples")
}

func TestSamplerSeesAnEdgeAtItsSample(t *testing.T) {
	got := play(t, simulated.Sampler{Period: 10 * us}, pulse(20*us, 10*us), ms, ms)
	assert.Equal(t, []signal.Edge{
		{At: 20 * us, Uncertainty: uint32(20 * us), Line: lineOut, Level: true},
		{At: 30 * us, Uncertainty: uint32(20 * us), Line: lineOut},
	}, got)
}

// TestSamplerBracketsTheTruth draws pulses, a sampler and stalls: whatever was
// captured, the true edge lies in (At-Late, At], which is two turns; every pulse longer
// than the longest turn is there, and the cut of time into steps changes nothing.
func TestSamplerBracketsTheTruth(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		period := signal.Time(rapid.Int64Range(1, int64(20*us)).Draw(t, "period"))
		s := simulated.Sampler{Period: period}
		longest := period
		if rapid.Bool().Draw(t, "stalls") {
			most := signal.Time(rapid.Int64Range(0, int64(100*us)).Draw(t, "most"))
			s.Stalls = simulated.Stalls{Mean: 200 * us, Least: most / 2, Most: most}
			longest += most
		}
		var edges []signal.Edge
		at, level := signal.Time(0), false
		for range rapid.IntRange(0, 40).Draw(t, "edges") {
			at += signal.Time(rapid.Int64Range(1, int64(50*us)).Draw(t, "gap"))
			level = !level
			edges = append(edges, signal.Edge{At: at, Line: lineIn, Level: level})
		}
		end := at + 200*us
		run := func(step signal.Time) []signal.Edge {
			if s.Stalls.Mean > 0 {
				s.Stalls.Draw = counter()
			}
			return play(t, s, edges, end, step)
		}
		got := run(end)
		assert.Equal(t, got, run(signal.Time(rapid.Int64Range(int64(5*us), int64(end)).Draw(t, "step"))))
		level = false
		for _, e := range got {
			if e.Line != lineOut {
				require.Greater(t, signal.Time(e.Uncertainty), 2*period, "a gap")
				continue
			}
			if e.Level == level {
				require.Greater(t, signal.Time(e.Uncertainty), 2*period, "levels alternate, save for gaps")
				continue
			}
			level = e.Level
			found := false
			for _, d := range edges {
				found = found || d.Level == e.Level && d.At > e.At-signal.Time(e.Uncertainty) && d.At <= e.At
			}
			require.True(t, found, "%+v brackets an edge of its level", e)
			require.LessOrEqual(t, e.Uncertainty, uint32(2*longest), "two stalls in turn")
			require.GreaterOrEqual(t, e.Uncertainty, uint32(2*period), "two turns")
		}
		for i := 0; i+1 < len(edges); i++ {
			if edges[i+1].At-edges[i].At < longest {
				continue
			}
			found := false
			for _, e := range got {
				found = found || e.At >= edges[i].At && e.At <= edges[i].At+longest && e.Level == edges[i].Level
			}
			require.True(t, found || levelBefore(edges, i, longest), "the level that began at %v lasted longer than any gap", edges[i].At)
		}
	})
}

// levelBefore reports whether an edge before i was followed within a gap, so
// that the change at i may not be one to the sampler.
func levelBefore(edges []signal.Edge, i int, gap signal.Time) bool {
	return i > 0 && edges[i].At-edges[i-1].At < gap
}

func TestStallsAreAsLongAsDeclared(t *testing.T) {
	var edges []signal.Edge
	for i := range signal.Time(20000) {
		edges = append(edges, signal.Edge{At: 50*us + i*50*us, Line: lineIn, Level: i&1 == 0})
	}
	s := simulated.Sampler{
		Period: us,
		Stalls: simulated.Stalls{Mean: 5 * ms, Least: 10 * us, Most: 30 * us, Draw: counter()},
	}
	late, gaps, level := 0, 0, false
	for _, e := range play(t, s, edges, signal.Second, ms) {
		if e.Line != lineOut {
			continue
		}
		if e.Uncertainty == uint32(2*us) {
			assert.NotEqual(t, level, e.Level)
			level = e.Level
			continue
		}
		if e.Level == level {
			gaps++
		} else {
			late++
		}
		level = e.Level
		assert.GreaterOrEqual(t, e.Uncertainty, uint32(12*us))
		assert.LessOrEqual(t, e.Uncertainty, uint32(32*us))
	}
	// 200 stalls a second, 22 us of every 50 us: about 88 edges fall into one or into the turn after it.
	assert.InDelta(t, 88, late, 30)
	assert.InDelta(t, 400, late+gaps, 80, "each stall gives an edge or a gap, for two turns")
}
