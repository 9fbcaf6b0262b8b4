package esc_test

import (
	"bytes"
	"context"
	"errors"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"hilrig/assertions/characteristic"
	"hilrig/rig"
	"hilrig/rig/board"
	"hilrig/rig/signal"
	"hilrig/rig/simulated"
	"hilrig/suites"
	"hilrig/suites/demo"
	"hilrig/suites/esc"
	"hilrig/suites/file"
	"hilrig/suites/language"
	"hilrig/suites/record"
)

// standFile reads a stand file that is the demo's with pairs of texts replaced.
func standFile(t testing.TB, replace ...string) *file.Stand {
	t.Helper()
	return parsed(t, edited(t, string(demo.StandYAML), replace...))
}

func edited(t testing.TB, text string, replace ...string) string {
	t.Helper()
	for i := 0; i < len(replace); i += 2 {
		require.Contains(t, text, replace[i])
		text = strings.Replace(text, replace[i], replace[i+1], 1)
	}
	return text
}

func parsed(t testing.TB, text string) *file.Stand {
	t.Helper()
	s, err := file.ParseStand(language.Source{Path: "stand.yaml", Data: []byte(text)}, nil)
	require.NoError(t, err)
	return s
}

// long leaves a test out under the race detector: it plays on one goroutine as the others do.
func long(t *testing.T) {
	t.Helper()
	if testing.Short() {
		t.Skip("left out where tests are short")
	}
}

// quick has a plan with few levels, so that a test of what goes wrong is short.
const quick = "plan: {margin: 20 %, levels: [0 %, 20 %, 30 %, 40 %, 60 %, 80 %, 90 %, 95 %, 100 %], fine_at: 60 %, fine_steps: 5 %}"

func run(t testing.TB, s *esc.Setup) *esc.Outcome {
	t.Helper()
	out, err := s.Run(context.Background(), esc.Options{})
	require.NoError(t, err)
	return out
}

// played are what came of the demo stand, by its controller and seed.
var played = map[playedKey]*esc.Outcome{}

type playedKey struct {
	controller string
	seed       uint64
}

// demoStand returns the demo stand with a controller, and what came of it, which is played once for all tests; none changes it.
func demoStand(t testing.TB, controller string, seed uint64) (*esc.Setup, *esc.Outcome) {
	t.Helper()
	key := playedKey{controller, seed}
	s := &esc.Setup{Stand: standFile(t), ESC: controller, Seed: seed}
	if played[key] == nil {
		played[key] = run(t, s)
	}
	return s, played[key]
}

// verdicts returns the verdicts of the figures of the first set by key.
func verdicts(out *esc.Outcome) map[string]string {
	v := map[string]string{}
	for _, f := range out.Figures[0] {
		v[f.Key] = string(f.Verdict)
	}
	return v
}

func figure(out *esc.Outcome, set int, key string) *characteristic.Figure {
	for i := range out.Figures[set] {
		if f := &out.Figures[set][i]; f.Key == key {
			return f
		}
	}
	return nil
}

func places(out *esc.Outcome) (places []string) {
	for _, e := range out.Events {
		places = append(places, e.Place)
	}
	return places
}

// distorted is a bench whose captured edges are changed on their way.
type distorted struct {
	rig.Bench
	change func(now signal.Time, edges []signal.Edge) []signal.Edge
	safe   *signal.Time // when it was made safe first
}

func (b *distorted) Captured(dst []signal.Edge) ([]signal.Edge, error) {
	n := len(dst)
	dst, err := b.Bench.Captured(dst)
	if b.change != nil {
		dst = append(dst[:n], b.change(b.Now(), dst[n:])...)
	}
	return dst, err
}

func (b *distorted) Safe() error {
	if b.safe != nil && *b.safe == 0 {
		*b.safe = b.Now()
	}
	return b.Bench.Safe()
}

// wires is what went over the throttle's line.
type wires struct {
	line   signal.Line
	driven []signal.Edge
	safe   signal.Time
}

// on returns a bench in virtual time, taken for a real one, with a change of what it captures.
func on(w *wires, change func(now signal.Time, edges []signal.Edge) []signal.Edge) *suites.Real {
	return &suites.Real{Kind: "test", Board: true, Waits: true, Open: func(layout signal.Layout, b board.Board) (rig.Bench, error) {
		w.line, _ = layout.Find(signal.ThrottleCommand, signal.NoWheel)
		bench, err := simulated.New(simulated.Settings{Layout: layout, Board: b, Tap: func(driven, _ []signal.Edge) {
			for _, e := range driven {
				if e.Line == w.line {
					w.driven = append(w.driven, e)
				}
			}
		}})
		if err != nil {
			return nil, err
		}
		return &distorted{bench, change, &w.safe}, nil
	}}
}

// without drops the edges of roles from a time on.
func without(s *file.Stand, from signal.Time, roles ...signal.Role) func(signal.Time, []signal.Edge) []signal.Edge {
	var lines []signal.Line
	layout := s.Layout()
	for _, r := range roles {
		l, _ := layout.Find(r, signal.NoWheel)
		lines = append(lines, l)
	}
	return func(now signal.Time, edges []signal.Edge) []signal.Edge {
		if now < from {
			return edges
		}
		kept := edges[:0]
		for _, e := range edges {
			drop := false
			for _, l := range lines {
				drop = drop || e.Line == l
			}
			if !drop {
				kept = append(kept, e)
			}
		}
		return kept
	}
}

// endsAtIdle holds what went over the line against idle pulses to the end, then silence.
func (w *wires) endsAtIdle(t *testing.T) {
	t.Helper()
	n := len(w.driven)
	require.Greater(t, n, 80)
	require.NotZero(t, w.safe, "the bench was not made safe")
	for i := n - 60; i+1 < n; i++ { // 75 ms
		if w.driven[i].Level {
			assert.Equal(t, signal.Millisecond, w.driven[i+1].At-w.driven[i].At, "an idle pulse is 1000 us wide")
		}
	}
	assert.LessOrEqual(t, w.driven[n-1].At, w.safe)
	assert.False(t, w.driven[n-1].Level)
}

func TestCancelledRunEndsAtIdle(t *testing.T) {
	var w wires
	s := standFile(t)
	ctx, cancel := context.WithCancel(context.Background())
	defer cancel()
	setup := &esc.Setup{Stand: s, Seed: 1, Real: on(&w, nil)}
	driven := false
	out, err := setup.Run(ctx, esc.Options{Progress: func(p esc.Progress) {
		if p.Command > 0.3 {
			driven = true
			cancel()
		}
	}})
	assert.ErrorIs(t, err, context.Canceled)
	assert.True(t, driven)
	assert.Equal(t, record.NotShown, out.Result.Outcome)
	assert.Equal(t, record.Stopped, out.Result.Why)
	assert.False(t, out.AtRest, "idle is not rest")
	w.endsAtIdle(t)
}

// Every bound of stop_at, and every source that falls silent, ends the run at idle.
func TestEveryBoundEndsTheRunAtIdle(t *testing.T) {
	bound := func(old, replacement string) func(t *testing.T) *file.Stand {
		return func(t *testing.T) *file.Stand { return standFile(t, old, replacement) }
	}
	plain := func(t *testing.T) *file.Stand { return standFile(t) }
	for _, test := range []struct {
		name       string
		stand      func(t *testing.T) *file.Stand
		change     func(s *file.Stand) func(signal.Time, []signal.Edge) []signal.Edge
		why        string
		unobserved bool
	}{
		{name: "time", stand: bound("time: 30 min", "time: 20 s"), why: "longer than stop_at: time, 20 s"},
		{name: "temperature", stand: bound("temperature: 90 degC", "temperature: 20 degC"), why: "degC, above stop_at: temperature, 20 degC"},
		{name: "lowest_voltage", stand: bound("lowest_voltage: 6 V", "lowest_voltage: 7.35 V"), why: "V, below stop_at: lowest_voltage, 7.35 V"},
		{name: "current", stand: bound("speed: 550 rad/s", "speed: 550 rad/s\n  current: 2 A"), why: "A, above stop_at: current, 2 A"},
		{name: "speed", stand: bound("speed: 550 rad/s", "speed: 80 rad/s"), why: "rad/s, above stop_at: speed, 80 rad/s", change: func(s *file.Stand) func(signal.Time, []signal.Edge) []signal.Edge {
			// The shaft is taken for twice as fast: every time is halved from a moment on.
			return nil
		}},
		{name: "encoder", stand: plain, why: "no edge of the encoder for 100 ms", unobserved: true, change: func(s *file.Stand) func(signal.Time, []signal.Edge) []signal.Edge {
			return without(s, 25*signal.Second, signal.ShaftA, signal.ShaftB)
		}},
		{name: "telemetry", stand: plain, why: "no frame of telemetry for 100 ms", unobserved: true, change: func(s *file.Stand) func(signal.Time, []signal.Edge) []signal.Edge {
			return without(s, 25*signal.Second, signal.ESCTelemetry)
		}},
	} {
		t.Run(test.name, func(t *testing.T) {
			var w wires
			s := test.stand(t)
			var change func(signal.Time, []signal.Edge) []signal.Edge
			if test.change != nil {
				change = test.change(s)
			}
			real := on(&w, change)
			trips := 0
			real.Trip = func(timeout bool) {
				trips++
				assert.False(t, timeout)
			}
			if test.name == "speed" {
				s.StopAt.Speed = new(float64)
				*s.StopAt.Speed = 40 // below the held speed: what the file would refuse
			}
			out, err := (&esc.Setup{Stand: s, Seed: 1, Real: real}).Run(context.Background(), esc.Options{})
			var tripped *esc.Tripped
			require.True(t, errors.As(err, &tripped), "%v", err)
			assert.Equal(t, test.name, tripped.Bound)
			if test.name != "speed" {
				assert.Contains(t, tripped.Why, test.why)
			}
			assert.Equal(t, record.NotShown, out.Result.Outcome)
			assert.Contains(t, out.Result.Why, tripped.Why)
			assert.Contains(t, places(out), "stop_at")
			assert.Equal(t, test.unobserved, trips == 1, "the supply goes where nobody can tell any more")
			w.endsAtIdle(t)
			for _, f := range out.Figures {
				for i := range f {
					if f[i].Asked() {
						assert.NotEqual(t, record.Pass, out.Result.Outcome)
					}
				}
			}
		})
	}
}

func TestALevelThatLastsTooLongEndsTheRun(t *testing.T) {
	// Half of the edges are missing and the shaft seems to turn half as fast: a level that was over in time once
	// does not come to its end.
	s := standFile(t)
	var w wires
	a, _ := s.Layout().Find(signal.ShaftA, signal.NoWheel)
	b, _ := s.Layout().Find(signal.ShaftB, signal.NoWheel)
	n := 0
	slow := func(now signal.Time, edges []signal.Edge) []signal.Edge {
		kept := edges[:0]
		for _, e := range edges {
			if e.Line == a || e.Line == b {
				if n++; now > 60*signal.Second && n/64%8 != 0 { // whole lines go missing
					continue
				}
			}
			kept = append(kept, e)
		}
		return kept
	}
	out, err := (&esc.Setup{Stand: s, Seed: 1, Real: on(&w, slow)}).Run(context.Background(), esc.Options{})
	require.NotNil(t, out)
	assert.NotEqual(t, record.Go, out.Result.Outcome, "%v", err)
	w.endsAtIdle(t)
}

func TestAMotorThatNeverTurnsIsAnEvent(t *testing.T) {
	s := standFile(t)
	var w wires
	setup := &esc.Setup{Stand: s, Seed: 1, Real: on(&w, without(s, 0, signal.ShaftA, signal.ShaftB))}
	out := run(t, setup)
	assert.Equal(t, record.NotShown, out.Result.Outcome)
	assert.Contains(t, out.Events[len(out.Events)-1].Text, "never turns")
	w.endsAtIdle(t)
}

func TestAnEncoderThatCountsBackwardsIsAnEvent(t *testing.T) {
	s := standFile(t)
	a, _ := s.Layout().Find(signal.ShaftA, signal.NoWheel)
	b, _ := s.Layout().Find(signal.ShaftB, signal.NoWheel)
	swap := func(_ signal.Time, edges []signal.Edge) []signal.Edge {
		for i := range edges {
			switch edges[i].Line {
			case a:
				edges[i].Line = b
			case b:
				edges[i].Line = a
			}
		}
		return edges
	}
	var w wires
	out := run(t, &esc.Setup{Stand: s, Seed: 1, Real: on(&w, swap)})
	assert.Equal(t, record.NotShown, out.Result.Outcome)
	assert.Contains(t, out.Events[len(out.Events)-1].Text, "counts backwards")
	w.endsAtIdle(t)
}

func TestAnUnknownControllerIsRefused(t *testing.T) {
	out, err := (&esc.Setup{Stand: standFile(t), ESC: "best"}).Run(context.Background(), esc.Options{})
	assert.Nil(t, out)
	assert.ErrorContains(t, err, `controller "best" is not known; use one of linear, sharpened`)
}

func TestReadingsAreCSV(t *testing.T) {
	long(t)
	out := run(t, &esc.Setup{Stand: standFile(t, "plan: {margin: 20 %}", quick), Seed: 1})
	text := out.Readings()
	assert.True(t, bytes.HasPrefix(text, []byte("held,kind,command_percent,")))
	assert.Contains(t, string(text), "speed 60 rad/s,reading,20,,up,1,")
	assert.Contains(t, string(text), "speed 60 rad/s,reversal,55,60,,")
	assert.Contains(t, string(text), ",not reached,idle turns nothing\n")
}
