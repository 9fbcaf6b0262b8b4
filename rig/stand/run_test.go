package stand

import (
	"slices"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"hilrig/rig/board"
	"hilrig/rig/signal"
	"hilrig/rig/simulated"
)

var _ board.Board = (*Stand)(nil)

// A stand does the same however its time is cut, also where edges come at the very time at which a cut
// is, with this call or with the next.
func TestTheCutOfTimeChangesNothing(t *testing.T) {
	played := func(s *Settings) { s.Held = Held{Kind: AtSpeed, Speed: 60} }
	make := func(t testing.TB) *world {
		w := newWorld(t, "dropping_telemetry", played)
		for i, level := range []float64{0, 0.5, 0.2} {
			w.pulses(level, signal.Time(i)*400*signal.Millisecond, signal.Time(i+1)*400*signal.Millisecond)
		}
		clock := w.line(signal.CellClock)
		for at := 60 * signal.Millisecond; at < 1190*signal.Millisecond; at += 14 * signal.Millisecond {
			for i := range signal.Time(25) {
				w.in = append(w.in, signal.Edge{At: at + 2000*i, Line: clock, Level: true}, signal.Edge{At: at + 2000*i + 1000, Line: clock})
			}
		}
		slices.SortStableFunc(w.in, func(a, b signal.Edge) int { return int(a.At - b.At) })
		return w
	}
	whole := make(t).run(1200 * signal.Millisecond)
	require.Greater(t, len(whole.out), 1000)
	rapid.Check(t, func(r *rapid.T) {
		w := make(t)
		in := w.in
		for w.now < 1200*signal.Millisecond {
			if rapid.Bool().Draw(r, "at an edge") && len(in) > 0 {
				w.now = max(w.now, in[min(rapid.IntRange(0, 40).Draw(r, "edges"), len(in)-1)].At)
			} else {
				w.now += signal.Time(rapid.Int64Range(0, 40e6).Draw(r, "span"))
			}
			w.now = min(w.now, 1200*signal.Millisecond)
			with, n := rapid.Bool().Draw(r, "with"), 0
			for n < len(in) && (in[n].At < w.now || in[n].At == w.now && with) {
				n++
			}
			before := len(w.out)
			var err error
			w.out, err = w.stand.Run(in[:n], w.now, w.out)
			if err != nil {
				r.Fatal(err)
			}
			in = in[n:]
			for _, e := range w.out[before:] {
				if e.At > w.now {
					r.Fatal("an edge of the future")
				}
			}
		}
		w.out, _ = w.stand.Run(in, w.now, w.out)
		if !slices.Equal(whole.out, w.out) {
			r.Fatal("other edges")
		}
	})
}

func TestASeedGivesTheSameBits(t *testing.T) {
	play := func(seed uint64) []signal.Edge {
		return newWorld(t, "dropping_telemetry", func(s *Settings) { s.Seed = seed }).arm().hold(0.4, signal.Second).out
	}
	assert.Equal(t, play(3), play(3))
	assert.NotEqual(t, play(3), play(4))
}

// The bits of a run are the same on every architecture. The number is this package's own: it changes only
// with the demo stand or with how a stand is turned.
func TestBits(t *testing.T) {
	w := newWorld(t, "linear").arm()
	for _, level := range []float64{0.05, 1, 0, 0.3} {
		w.hold(level, 500*signal.Millisecond)
	}
	h := uint64(14695981039346656037) // FNV-1a, 64 bits
	for _, e := range w.out {
		h = (h ^ uint64(e.At)<<8 ^ uint64(e.Line)) * 1099511628211
	}
	assert.EqualValues(t, uint64(0xcd5ff597c092c436), h, "%#x", h)
}

func TestEdgesAreInOrderAndEachIsAChange(t *testing.T) {
	w := newWorld(t, "linear").arm().hold(1, signal.Second).hold(0, signal.Second)
	levels := map[signal.Line]bool{}
	for i, l := range w.stand.settings.Layout.Lines {
		levels[signal.Line(i)] = l.Idle
	}
	last := signal.Time(0)
	for _, e := range w.out {
		if e.At < last || e.Level == levels[e.Line] {
			require.Failf(t, "out of order, or no change", "%+v after %v", e, last)
		}
		last, levels[e.Line] = e.At, e.Level
	}
}

// After a power cycle every line is at rest, and everything is as it was at the beginning.
func TestRestartIsAPowerCycle(t *testing.T) {
	w := newWorld(t, "linear").arm().hold(0.5, signal.Second)
	high := func(role signal.Role) bool { return w.stand.levels[w.line(role)] }
	for !high(signal.ShaftA) || !high(signal.ShaftB) || high(signal.ESCTelemetry) || high(signal.CellData) {
		require.Less(t, w.now, 100*signal.Second, "a time at which no line is at rest")
		w.run(10 * signal.Microsecond)
	}
	require.NoError(t, w.stand.Restart(w.now))
	w.out = w.out[:0]
	w.run(0)
	require.Len(t, w.out, 4)
	for _, e := range w.out {
		assert.Equal(t, w.now, e.At)
		assert.Equal(t, w.stand.settings.Layout.Lines[e.Line].Idle, e.Level)
	}
	for i, l := range w.stand.settings.Layout.Lines {
		assert.Equal(t, l.Idle, w.stand.levels[i], l.Name)
	}
	began, first := w.now, newWorld(t, "linear")
	w.out = w.out[:0]
	w.hold(0, 400*signal.Millisecond).hold(0.5, 200*signal.Millisecond)
	first.arm().hold(0.5, 200*signal.Millisecond)
	for i := range w.out {
		w.out[i].At -= began
	}
	assert.Equal(t, first.of(signal.ShaftA), w.of(signal.ShaftA))
	assert.Equal(t, first.of(signal.ESCTelemetry), w.of(signal.ESCTelemetry))

	require.NoError(t, w.stand.Close())
	require.NoError(t, w.stand.Close())
	_, err := w.stand.Run(nil, w.now, nil)
	assert.ErrorContains(t, err, "closed")
	assert.ErrorContains(t, w.stand.Restart(w.now), "closed")
}

// The stand on a bench, as a board.
func TestAStandOnTheSimulatedBench(t *testing.T) {
	esc, _ := ESCNamed("linear")
	settings := Demo()
	s, err := New(settings, esc)
	require.NoError(t, err)
	bench, err := simulated.New(simulated.Settings{Layout: settings.Layout, Board: s})
	require.NoError(t, err)
	w := world{t: t, stand: s}
	w.pulses(0, 0, 400*signal.Millisecond)
	w.pulses(0.5, 400*signal.Millisecond, 1400*signal.Millisecond)
	var out []signal.Edge
	for now := signal.Millisecond; now <= 1400*signal.Millisecond; now += signal.Millisecond {
		n := 0
		for n < len(w.in) && w.in[n].At <= now {
			n++
		}
		require.NoError(t, bench.Drive(w.in[:n], now))
		w.in = w.in[n:]
		require.NoError(t, bench.Wait(now))
		out, err = bench.Captured(out)
		require.NoError(t, err)
	}
	require.NoError(t, bench.Close())
	alone := newWorld(t, "linear").arm().hold(0.5, signal.Second)
	assert.Equal(t, alone.out, out)
	assert.Greater(t, counts(out, alone.line(signal.ShaftA), alone.line(signal.ShaftB)), 10_000)
}

func TestWrongSettings(t *testing.T) {
	for _, tt := range []struct {
		change func(*Settings)
		says   string
	}{
		{func(s *Settings) { s.Load.Inertia = 0 }, "Load.Inertia is 0"},
		{func(s *Settings) { s.Load.Inertia = 1e-7 }, "take a larger disc"},
		{func(s *Settings) { s.Pack.Voltage = 0 }, "Pack.Voltage is 0"},
		{func(s *Settings) { s.Motor.Stiction = 0 }, "Motor.Stiction is 0"},
		{func(s *Settings) { s.Motor.CoggingPeriods = 0 }, "CoggingPeriods"},
		{func(s *Settings) { s.Encoder.Lines = 0 }, "no Encoder.Lines"},
		{func(s *Settings) { s.Throttle.Inverted = true }, "throttle_command of Layout rests at the other level"},
		{func(s *Settings) { s.Throttle.Format = 9 }, "Throttle.Format is 9"},
		{func(s *Settings) { s.Throttle.Idle = 1 }, "two different widths"},
		{func(s *Settings) { s.Layout = signal.Layout{} }, "no line in Layout for the throttle"},
		{func(s *Settings) { s.Layout.Lines[2].Role = signal.OtherRole }, "one line of an encoder"},
		{func(s *Settings) { s.Layout.Lines[2].Role = signal.ShaftTacho }, "one line of an encoder"},
		{func(s *Settings) { s.Layout.Lines[4].Idle = false }, "cell_data of Layout rests low"},
		{func(s *Settings) { s.Held = Held{Kind: AtSpeed} }, "Held.Speed is 0"},
		{func(s *Settings) { s.Load.Hand = []float64{0} }, "Load.Hand has 0"},
	} {
		s := Demo()
		s.Layout.Lines = slices.Clone(s.Layout.Lines)
		tt.change(&s)
		_, err := New(s, linear)
		assert.ErrorContains(t, err, tt.says)
	}
	for _, change := range []func(*ESC){
		func(e *ESC) { e.Loop = 300 * signal.Microsecond }, func(e *ESC) { e.Start = 2 }, func(e *ESC) { e.Resolution = -1 },
	} {
		e := linear
		change(&e)
		_, err := New(Demo(), e)
		assert.ErrorContains(t, err, `controller "linear"`)
	}
}
