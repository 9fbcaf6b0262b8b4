package suites

import (
	"context"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"hilrig/rig/signal"
	"hilrig/suites/demo"
	"hilrig/suites/language"
	"hilrig/suites/record"
)

// TestPlayDistinguishesTheRigsLatenessFromASilentBoard plays one hold to a board that answers and
// to one that is silent, on rigs that can and cannot read it.
func TestPlayDistinguishesTheRigsLatenessFromASilentBoard(t *testing.T) {
	const (
		inTime        = ""
		fineSampler   = "sampler: {period: 175 ns}\n"
		coarseSampler = "sampler: {period: 60 us}\n"
		stallingOften = "player: {stalls: {every: 20 ms, least: 200 us, most: 300 us}}\n"
	)
	for _, tt := range []struct {
		name, bench, board string
		outcome            string
		silent             bool
		why                string // of each motor; empty: it was read
	}{
		{"a board that answers", inTime, "", record.Go, false, ""},
		{"one that controls nothing", inTime, "null:constant_idle", record.NoGo, false, ""},
		{"a silent one", inTime, "null:silent", record.NoGo, true, "sent no command in the window"},
		{"edges too uncertain to be read", coarseSampler, "", record.NotShown, false, "the sampler left open all"},
		{"no edge at all for a sampler that would see one", fineSampler, "null:silent", record.NoGo, true, "sent no command in the window"},
		{"a sampler that cannot tell what it played", coarseSampler, "null:silent", record.NotShown, false, "or cannot tell that it did not, which leaves 0 ms"},
		{"commands that lateness may have moved", stallingOften, "", record.NotShown, false, "the rig played its own wires late, which may have moved all"},
		{"lateness that may have silenced the board", stallingOften, "null:silent", record.NotShown, false, "the rig played its own wires late, or cannot tell that it did not, which leaves 0 ms"},
	} {
		t.Run(tt.name, func(t *testing.T) {
			s, err := Load(Files{
				Car:   language.Source{Path: demo.CarPath, Data: demo.CarYAML},
				Bench: language.Source{Path: demo.BenchPath, Data: append(append([]byte(nil), demo.BenchYAML...), tt.bench...)},
				Board: tt.board,
				Seed:  1,
			})
			require.NoError(t, err)
			p, err := s.Play(context.Background(), Hold{Speed: 4, Steer: 0.14, Throttle: 0.4, Gain: 0.5, YawRate: 0.7, OfDemand: true})
			require.NoError(t, err)
			assert.Equal(t, tt.outcome, p.Outcome())
			for i := range p.Motors {
				m := &p.Motors[i]
				assert.Equal(t, tt.why == "", m.Read != nil, m.Why)
				assert.Equal(t, tt.silent, m.Silent, m.Why)
				assert.Contains(t, m.Why, tt.why)
			}
		})
	}
}

// Whoever watches is told each tick what the motors are commanded, and what is read is the same.
func TestAHoldIsWatchedAsItIsPlayed(t *testing.T) {
	s, err := Load(Files{
		Car: language.Source{Path: demo.CarPath, Data: demo.CarYAML}, Bench: language.Source{Path: demo.BenchPath, Data: demo.BenchYAML}, Seed: 1,
	})
	require.NoError(t, err)
	h := Hold{Speed: 4, Steer: 0.14, Throttle: 0.4, Gain: 0.5, YawRate: 0.7, OfDemand: true}
	alone, err := s.Play(context.Background(), h)
	require.NoError(t, err)
	ticks, last, newest := 0, signal.Time(0), [4]float64{}
	h.Watch = func(at signal.Time, commands [4]float64) {
		assert.GreaterOrEqual(t, at, last)
		ticks, last, newest = ticks+1, at, commands
	}
	p, err := s.Play(context.Background(), h)
	require.NoError(t, err)
	assert.Equal(t, alone, p)
	assert.Greater(t, ticks, 1000)
	for i := range p.Motors {
		assert.InDelta(t, p.Motors[i].Read.Command, newest[i], 0.003)
	}
}
