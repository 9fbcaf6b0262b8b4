package rig_test

import (
	"context"
	"math"
	"math/rand/v2"
	"slices"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"hilrig/rig"
	"hilrig/rig/board"
	"hilrig/rig/signal"
	"hilrig/rig/simulated"
	"hilrig/rig/trace"
	"hilrig/stimulus"
	"hilrig/stimulus/wire"
)

const us = signal.Microsecond

// hear plays a second on a bench with that sampler and edge output; the seed places the frames
// among the ticks.
func hear(t testing.TB, seed uint64, s simulated.Sampler, p simulated.EdgeOutput) (*rig.Rig, *listener, *trace.Trace) {
	w := wiring()
	l := &listener{layout: w.Layout()}
	bench, err := simulated.New(simulated.Settings{Layout: l.layout, Board: l, Sampler: s, EdgeOutput: p})
	require.NoError(t, err)
	t.Cleanup(func() { assert.NoError(t, bench.Close()) })
	r, err := rig.New(bench, rig.Settings{Wiring: w, Car: car(), Seed: seed})
	require.NoError(t, err)
	v := stimulus.Values{Speed: 10, Steer: 0.1, YawRate: 1, Throttle: 0.4, Gain: 0.5}
	return r, l, heard(t, r, stimulus.Held(v, signal.Second))
}

// stallsOf returns stalls of 50 to 300 us with a chance of their own.
func stallsOf(seed uint64, every signal.Time) simulated.Stalls {
	return simulated.Stalls{Mean: every, Least: 50 * us, Most: 300 * us, Draw: rand.New(rand.NewPCG(seed, 1)).Uint64}
}

// TestSentReportsWhenItTookEffect plays the same on a perfect bench and on others: what
// the rig says of its own pulses, frames and edges has to hold of what the board's
// pins got.
func TestSentReportsWhenItTookEffect(t *testing.T) {
	for _, c := range []struct {
		name    string
		sampler simulated.Sampler
		output  simulated.EdgeOutput
	}{
		{"late output", simulated.Sampler{}, simulated.EdgeOutput{Stalls: stallsOf(1, 5*signal.Millisecond)}},
		{"late output, sampled", simulated.Sampler{Period: 175}, simulated.EdgeOutput{Stalls: stallsOf(2, 5*signal.Millisecond)}},
		{"sampler with stalls", simulated.Sampler{Period: 175, Stalls: stallsOf(3, 5*signal.Millisecond)}, simulated.EdgeOutput{}},
		{"both", simulated.Sampler{Period: 175, Stalls: stallsOf(4, 20*signal.Millisecond)}, simulated.EdgeOutput{Stalls: stallsOf(5, 20*signal.Millisecond)}},
		{"both, over and over", simulated.Sampler{Period: 175, Stalls: stallsOf(6, 500*us)}, simulated.EdgeOutput{Stalls: stallsOf(7, 500*us)}},
	} {
		t.Run(c.name, func(t *testing.T) {
			for _, seed := range []uint64{3, 4, 5} { // other places among the ticks
				tookEffect(t, seed, c.sampler, c.output)
			}
		})
	}
}

// tookEffect holds what a rig says of its pulses and frames against the board's pins,
// save for the last, which may not have been read back yet.
func tookEffect(t *testing.T, seed uint64, sampler simulated.Sampler, output simulated.EdgeOutput) {
	_, ideal, planned := hear(t, seed, simulated.Sampler{}, simulated.EdgeOutput{})
	r, l, tr := hear(t, seed, sampler, output)
	worst := lateness(t, ideal, l)
	timing := r.Timing()
	assert.LessOrEqual(t, timing.Late, worst, "no edge was later")
	if output.Stalls.Mean == 0 {
		assert.Zero(t, timing.LateCount, "a blind sampler makes no edge late")
		assert.Empty(t, tr.Delays)
	} else {
		assert.Greater(t, timing.Late, worst-2*sampler.Period-sampler.Stalls.Most-1)
		assert.NotEmpty(t, tr.Delays)
	}
	widths := map[string][]pulse{"steer": said(t, l, "steer"), "throttle": said(t, l, "throttle"), "gain": said(t, l, "gain")}
	late, unread := 0, tr.Start+signal.Second-5*signal.Millisecond
	for list, name := range map[trace.SentTo]string{trace.SentSteer: "steer", trace.SentThrottle: "throttle", trace.SentGain: "gain"} {
		falls := times(l.on(t, name), false)
		require.Len(t, tr.Sent[list], len(planned.Sent[list]))
		for i, s := range tr.Sent[list] {
			if s.End > unread {
				continue
			}
			assert.Equal(t, planned.Sent[list][i].End, s.End-s.Late)
			require.True(t, within(falls, s.End, s.EndUncertainty), "%s: no pulse ended within %v + %v", name, s.End, s.EndUncertainty)
			require.True(t, slices.ContainsFunc(widths[name], func(p pulse) bool {
				return p.end >= s.End && p.end <= s.End+s.EndUncertainty && math.Abs(p.value-s.Value) <= s.ValueUncertainty+1e-9
			}), "%s: no pulse that ended within %v + %v said %v ± %v", name, s.End, s.EndUncertainty, s.Value, s.ValueUncertainty)
			if s.Late > rig.LateFloor {
				late++
			}
		}
	}
	starts := times(l.on(t, "yaw_serial"), false)
	for i, s := range tr.Sent[trace.SentYawRate] {
		if s.Start > unread {
			continue
		}
		assert.Equal(t, planned.Sent[trace.SentYawRate][i].End, s.End-s.Late)
		require.True(t, within(starts, s.Start, s.EndUncertainty), "no start bit within %v + %v", s.Start, s.EndUncertainty)
		if s.Late > rig.LateFloor {
			late++
		}
	}
	assert.Equal(t, output.Stalls.Mean > 0, late > 0)
}

// pulse is what the board's pins got.
type pulse struct {
	end   signal.Time
	value float64
}

// said returns what the pulses of a receiver's channel said at the board's pins.
func said(t *testing.T, l *listener, channel string) (all []pulse) {
	t.Helper()
	w := wiring()
	i := slices.Index([]string{"steer", "throttle", "gain"}, channel)
	e, err := wire.NewPulses([]wire.Pulse{w.Steer, w.Throttle, w.Gain}[i], 0, 0)
	require.NoError(t, err)
	var rise signal.Time
	for _, edge := range l.on(t, channel) {
		if edge.Level {
			rise = edge.At
		} else {
			all = append(all, pulse{edge.At, e.ValueOf(edge.At - rise)})
		}
	}
	return all
}

// times returns when edges to level came.
func times(edges []signal.Edge, level bool) (at []signal.Time) {
	for _, e := range edges {
		if e.Level == level {
			at = append(at, e.At)
		}
	}
	return at
}

// within says whether one of times lies in [from, from+span].
func within(times []signal.Time, from, span signal.Time) bool {
	i, _ := slices.BinarySearch(times, from)
	return i < len(times) && times[i] <= from+span
}

// lateness returns by how much an edge came later than on a perfect bench. Of the
// messages only their first edges count: the rest goes with them.
func lateness(t testing.TB, ideal, real *listener) (worst signal.Time) {
	for _, line := range ideal.layout.Lines {
		if line.Direction != signal.Drive {
			continue
		}
		want, got := ideal.on(t, line.Name), real.on(t, line.Name)
		n := min(len(want), len(got)) // the last may still be due
		require.InDelta(t, len(want), n, 2, line.Name)
		for i := range n {
			if got[i].At < want[i].At { // a comparison by the library costs more than the run
				require.GreaterOrEqual(t, got[i].At, want[i].At, "no edge of %s is early", line.Name)
			}
			worst = max(worst, got[i].At-want[i].At)
		}
	}
	return worst
}

func TestTimingCountsGapsAndWhatTheyCost(t *testing.T) {
	w := wiring()
	layout := w.Layout()
	b, err := board.NewBuiltIn(board.Bramble(), layout, 1)
	require.NoError(t, err)
	bench, err := simulated.New(simulated.Settings{Layout: layout, Board: b, Sampler: simulated.Sampler{Period: 175, Stalls: stallsOf(1, 20*signal.Millisecond)}})
	require.NoError(t, err)
	t.Cleanup(func() { assert.NoError(t, bench.Close()) })
	r, err := rig.New(bench, rig.Settings{Wiring: w, Car: car(), Seed: 1})
	require.NoError(t, err)
	require.NoError(t, r.Settle(context.Background(), stimulus.Values{}, signal.Second, 0))
	var tr trace.Trace
	before := r.Timing().Uncertain
	require.NoError(t, r.Play(context.Background(), closed(5*signal.Second), &tr))
	timing := r.Timing()
	uncertain := int64(0)
	for _, m := range tr.Motor {
		for _, e := range m.Events {
			if e.Kind == trace.Uncertain {
				uncertain++
			}
		}
	}
	assert.NotZero(t, uncertain)
	assert.Equal(t, uncertain, timing.Uncertain-before)
	assert.InDelta(t, float64(300*us), float64(timing.Gap), float64(20*us))
	assert.InDelta(t, 350, float64(timing.Gaps.Quantile(0.5)), 44, "most edges are uncertain by two turns")
	assert.Greater(t, timing.Gaps.Quantile(0.999), 100*us)
	assert.Greater(t, timing.Gaps.Count(), int64(5*4*2*300))
	assert.Zero(t, timing.Late)
}

// The timing of two benches is that of both: what is worst of either, what is counted of
// both together.
func TestTimingsAddUp(t *testing.T) {
	a := rig.Timing{Late: 3 * us, LateCount: 2, Gap: 9 * us, Uncertain: 4}
	b := rig.Timing{Late: 5 * us, LateCount: 3, Gap: 7 * us, Uncertain: 1}
	for _, tt := range []struct{ one, other rig.Timing }{{a, b}, {b, a}} {
		tt.one.Add(&tt.other)
		assert.Equal(t, rig.Timing{Late: 5 * us, LateCount: 5, Gap: 9 * us, Uncertain: 5}, tt.one)
	}
}

func TestReadBackAllocatesNothing(t *testing.T) {
	w := wiring()
	layout := w.Layout()
	b, err := board.NewBuiltIn(board.Bramble(), layout, 1)
	require.NoError(t, err)
	bench, err := simulated.New(simulated.Settings{
		Layout: layout, Board: b,
		Sampler:    simulated.Sampler{Period: 175, Stalls: stallsOf(1, 5*signal.Millisecond)},
		EdgeOutput: simulated.EdgeOutput{Stalls: stallsOf(2, 5*signal.Millisecond)},
	})
	require.NoError(t, err)
	t.Cleanup(func() { assert.NoError(t, bench.Close()) })
	var driven, captured int
	r, err := rig.New(bench, rig.Settings{Wiring: w, Car: car(), Seed: 1, Seen: func(d, c []signal.Edge) {
		driven, captured = driven+len(d), captured+len(c)
	}})
	require.NoError(t, err)
	var tr trace.Trace
	p := closed(100 * signal.Millisecond)
	play := func() { require.NoError(t, r.Play(context.Background(), p, &tr)) }
	for range 50 {
		play()
	}
	assert.LessOrEqual(t, testing.AllocsPerRun(20, play), 1.0, "slices have grown, save for a rare longer list")
	assert.Greater(t, driven, 1000)
	assert.Greater(t, captured, 1000)
}
