package suites

import (
	"context"
	"errors"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"hilrig/rig/benchtest/drawn"
	"hilrig/rig/board"
	"hilrig/rig/signal"
	"hilrig/suites/demo"
	"hilrig/suites/language"
	"hilrig/suites/record"
	"hilrig/suites/standard"
)

// bySpeed is a board that is one up to a speed and another above it, as told by the edges of a wheel.
type bySpeed struct {
	slow, fast board.Board
	wheel      signal.Line
	least      int // edges of the wheel in window from which it is the fast one
	edges      []signal.Time
	levels     map[signal.Line]bool
}

// window is how long the edges of a wheel are counted.
const window = 20 * signal.Millisecond

func (b *bySpeed) Name() string { return "by speed" }

func (b *bySpeed) Run(in []signal.Edge, until signal.Time, out []signal.Edge) ([]signal.Edge, error) {
	for _, e := range in {
		if e.Line == b.wheel {
			b.edges = append(b.edges, e.At)
		}
	}
	for len(b.edges) > 0 && b.edges[0] < until-window {
		b.edges = b.edges[1:]
	}
	slow, err := b.slow.Run(in, until, nil)
	if err != nil {
		return out, err
	}
	fast, err := b.fast.Run(in, until, nil)
	if len(b.edges) >= b.least {
		slow = fast
	}
	for _, e := range slow {
		if b.levels[e.Line] != e.Level {
			b.levels[e.Line] = e.Level
			out = append(out, e)
		}
	}
	return out, err
}

func (b *bySpeed) Restart(at signal.Time) error {
	b.edges = nil
	return errors.Join(b.slow.Restart(at), b.fast.Restart(at))
}

func (b *bySpeed) Close() error {
	return errors.Join(b.slow.Close(), b.fast.Close())
}

// above has a setup play a board with a change that acts above 5.5 m/s alone.
func above(s *Setup, own board.Settings, change func(b *board.Settings)) {
	other := own
	change(&other)
	s.board = func(s *Setup, suite string) (board.Board, error) {
		layout := s.wiring.Layout()
		slow, err := board.NewBuiltIn(own, layout, s.boardSeed(suite))
		if err != nil {
			return nil, err
		}
		fast, err := board.NewBuiltIn(other, layout, s.boardSeed(suite))
		wheel, _ := layout.Find(signal.EncoderA, signal.FrontLeft)
		// Of 256 lines, on a wheel of 54 mm.
		edges := 2 * 256 * 5.5 / (2 * 3.14159 * 0.054) * window.Seconds()
		return &bySpeed{slow: slow, fast: fast, wheel: wheel, least: int(edges), levels: map[signal.Line]bool{}}, err
	}
}

// limitedDemand is the demo car whose demand is limited, with other lines of its policy.
func limitedDemand(t *testing.T, limit, suite string, lines ...string) *Setup {
	t.Helper()
	text := string(demo.CarYAML)
	edits := append([]string{"lateral_limit: none", limit}, lines...)
	for i := 0; i < len(edits); i += 2 {
		require.Contains(t, text, edits[i])
		text = strings.Replace(text, edits[i], edits[i+1], 1)
	}
	path, data, ok := standard.Source(suite)
	require.True(t, ok)
	s, err := Load(Files{
		Car: language.Source{Path: demo.CarPath, Data: []byte(text)}, Bench: language.Source{Path: demo.BenchPath, Data: demo.BenchYAML},
		Suites: []language.Source{{Path: path, Data: data}}, Seed: 1,
	})
	require.NoError(t, err)
	return s
}

// The limits of the demand that are tried.
const (
	low  = "lateral_limit: 5 m/s2"
	both = "lateral_limit: 9 m/s2\n    yaw_limit: 120 deg/s"
)

// A board whose demand is limited low is asked above the speed at which it meets its limit too: for its cap and its branches, for
// yaw rates far beyond the demand, and for each of two limits. One that keeps the policy passes, and one with a mistake there
// fails.
func TestALowLimitOfTheDemandHidesNothing(t *testing.T) {
	healthy := func(*board.Settings) {}
	for i, row := range []struct {
		name, limit, suite, only string
		lines                    []string
		slow, fast               func(b *board.Settings)
		fails                    bool
	}{
		{"healthy under a cap", low, "grid", "cap holds all over", nil, healthy, healthy, false},
		{"no cap at speed", low, "grid", "cap holds all over", nil, healthy, func(b *board.Settings) { b.Cap = 1 }, true},
		{"healthy branches", low, "grid", "understeer all over", nil, healthy, healthy, false},
		{"no understeer at speed", low, "grid", "understeer all over", nil, healthy, func(b *board.Settings) { b.Understeer = board.Split{} }, true},
		{"no understeer at speed, of a policy without straight", low, "grid", "understeer all over", []string{"  straight: none\n", ""}, healthy, func(b *board.Settings) { b.Understeer = board.Split{} }, true},
		{"healthy, of a policy without straight", low, "grid", "all over", []string{"  straight: none\n", ""}, healthy, healthy, false},
		{"healthy in a spin", low, "demand", "a spin", nil, healthy, healthy, false},
		{"healthy in a spin, growing less", low, "demand", "a spin", []string{"is: 8 %, within: 10 %", "is: 8 %, within: 10 %, grows: saturating, most: 30 %"}, healthy, healthy, false},
		{"healthy in a spin, gathering", low, "demand", "a spin", []string{"is: 8 %, within: 10 %", "is: 8 %, within: 10 %, grows: integrating, most: 20 %", "  response: {at_most: 12 ms, of: 95 %}\n", ""}, healthy, healthy, false},
		{"a yaw rate that wraps", low, "demand", "a spin", nil, withSeeded("yaw_wraps"), nil, true},
		{"a yaw rate that is clipped", low, "demand", "a spin", nil, withSeeded("yaw_clipped"), nil, true},
		{"a yaw rate that wraps, with the trim a switch", low, "demand", "a spin", []string{"  gain_steps: none\n", ""}, withSeeded("yaw_wraps"), nil, true},
		{"healthy by two limits", both, "demand", "each of its limits", nil, healthy, healthy, false},
		{"without the lateral one", both, "demand", "each of its limits", nil, func(b *board.Settings) { b.LateralLimit = 0 }, nil, true},
		{"without the one of the yaw rate", both, "demand", "each of its limits", nil, func(b *board.Settings) { b.YawLimit = 0 }, nil, true},
	} {
		if !drawn.Row(i, 3) {
			continue
		}
		t.Run(row.name, func(t *testing.T) {
			s := limitedDemand(t, row.limit, row.suite, row.lines...)
			own, err := s.OfPolicy()
			require.NoError(t, err)
			row.slow(&own)
			if row.fast == nil {
				row.fast = healthy
			}
			above(s, own, row.fast)
			r, _, err := s.Run(context.Background(), Options{Only: row.only})
			require.NoError(t, err)
			assert.Equal(t, row.fails, r.Counts.Fail > 0, "%d failed, %d passed", r.Counts.Fail, r.Counts.Pass)
			assert.Greater(t, r.Counts.Pass, 15)
			for _, c := range r.Suites[len(r.Suites)-1].Cases {
				for _, k := range c.Checks {
					assert.False(t, !row.fails && (k.Verdict == record.Fail || k.Verdict == record.Undecided), "%s, %s: %s: %s", c.Name, c.Variant, k.Name, k.Why)
				}
			}
		})
	}
}

// withSeeded switches a seeded fault on.
func withSeeded(name string) func(b *board.Settings) {
	return func(b *board.Settings) {
		if faulty, err := board.WithFault(*b, name); err == nil {
			*b = faulty
		}
	}
}
