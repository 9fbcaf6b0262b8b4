package rig_test

import (
	"context"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"hilrig/rig"
	"hilrig/rig/signal"
	"hilrig/rig/simulated"
	"hilrig/rig/trace"
	"hilrig/stimulus"
)

// pulser is a board that sends pulses of 1500 us on one line, at no multiple of a tick.
type pulser struct {
	line signal.Line
	next signal.Time
	high bool
}

func (p *pulser) Name() string              { return "pulser" }
func (p *pulser) Restart(signal.Time) error { return nil }
func (p *pulser) Close() error              { return nil }
func (p *pulser) Run(_ []signal.Edge, until signal.Time, out []signal.Edge) ([]signal.Edge, error) {
	for p.next <= until {
		p.high = !p.high
		out = append(out, signal.Edge{At: p.next, Line: p.line, Level: p.high})
		if p.high {
			p.next += 1500 * signal.Microsecond
		} else {
			p.next += 2037 * signal.Microsecond
		}
	}
	return out, nil
}

// moving is a bench whose time goes on whenever somebody asks for it, as a real one's
// does.
type moving struct{ rig.Bench }

func (m moving) Now() signal.Time {
	now := m.Bench.Now()
	if err := m.Bench.Wait(now + 100*signal.Microsecond); err != nil {
		return now
	}
	return m.Bench.Now()
}

// Edges that come between what was captured and the question for the time are not lost.
func TestEdgesOfThePresentAreKept(t *testing.T) {
	w := wiring()
	layout := w.Layout()
	line, ok := layout.Line("motor_rear_left")
	require.True(t, ok)
	bench, err := simulated.New(simulated.Settings{Layout: layout, Board: &pulser{line: line, next: 1}})
	require.NoError(t, err)
	r, err := rig.New(moving{bench}, rig.Settings{Wiring: w, Car: car(), Seed: 1})
	require.NoError(t, err)
	var tr trace.Trace
	require.NoError(t, r.Play(context.Background(), stimulus.Held(stimulus.Values{}, signal.Second), &tr))
	out := tr.Motor[2]
	assert.Empty(t, out.Events)
	assert.InDelta(t, 1e6/3537, len(out.Frames), 2)
}
