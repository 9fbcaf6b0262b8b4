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

// grid is when the frames on one wire begin, and how far they are apart.
type grid struct {
	period signal.Time
	begins []signal.Time
}

// grids reads the frames of every wire that has a grid of its own: the rising edges that
// the board heard, and for the sensor what was sent.
func grids(t *testing.T, l *listener, tr *trace.Trace) map[string]*grid {
	t.Helper()
	out := map[string]*grid{
		"steer": {period: 10 * signal.Millisecond}, "throttle": {period: 10 * signal.Millisecond}, "gain": {period: 10 * signal.Millisecond},
		"front_right_duty": {period: 2 * signal.Millisecond}, "yaw_serial": {period: 5 * signal.Millisecond},
	}
	end := tr.Start + signal.Time(tr.Rows())*tr.Tick
	for _, e := range l.edges {
		g := out[l.layout.Lines[e.Line].Name]
		if g != nil && e.Level && e.At >= tr.Start && e.At < end && l.layout.Lines[e.Line].Name != "yaw_serial" {
			g.begins = append(g.begins, e.At)
		}
	}
	for _, s := range tr.Sent[trace.SentYawRate] {
		out["yaw_serial"].begins = append(out["yaw_serial"].begins, s.Start)
	}
	for name, g := range out {
		require.NotEmpty(t, g.begins, name)
	}
	return out
}

// A move of the frame grids moves those of all wires but the wheels', once and by what it
// says less whole frames: no sensor falls silent for longer than two.
func TestAGridMoveMovesEveryWire(t *testing.T) {
	const by, more = 1234567, 50 * signal.Millisecond
	r, l := listen(t, mixed())
	p := stimulus.Held(stimulus.Values{Speed: 4, Throttle: 0.4}, 300*signal.Millisecond)
	p.Moves = []stimulus.GridMove{{At: 150 * signal.Millisecond, By: by + more}}
	for name, g := range grids(t, l, heard(t, r, p)) {
		moved := 0
		for i := 1; i < len(g.begins); i++ {
			if gap := g.begins[i] - g.begins[i-1]; gap != g.period {
				assert.Equal(t, g.period+by, gap, name)
				moved++
			}
		}
		if name == "front_right_duty" {
			assert.Zero(t, moved, "a wheel's pulses never pause")
			continue
		}
		assert.Equal(t, 1, moved, name)
	}
}

// Each rest moves each wire's grid by a part of a frame of its own, so that what follows
// meets the board at any phase. 64 phases that are drawn evenly leave a quarter of the
// frame empty once in 10^8 times, and the draw is the same on every run.
func TestSettlingMovesEveryGrid(t *testing.T) {
	r, l := listen(t, mixed())
	met := map[string][]signal.Time{}
	for range 64 {
		require.NoError(t, r.Settle(context.Background(), stimulus.Values{}, 25*signal.Millisecond, 0))
		tr := &trace.Trace{}
		l.edges = l.edges[:0]
		require.NoError(t, r.Play(context.Background(), stimulus.Held(stimulus.Values{}, 25*signal.Millisecond), tr))
		for name, g := range grids(t, l, tr) {
			met[name] = append(met[name], g.begins[len(g.begins)-1]%g.period*4/g.period)
		}
	}
	inEveryQuarter(t, met)
}

// Where the grids begin is drawn by the seed.
func TestGridsBeginAnywhere(t *testing.T) {
	met := map[string][]signal.Time{}
	w := mixed()
	layout := w.Layout()
	for seed := range uint64(64) {
		l := &listener{layout: layout}
		bench, err := simulated.New(simulated.Settings{Layout: layout, Board: l})
		require.NoError(t, err)
		r, err := rig.New(bench, rig.Settings{Wiring: w, Car: car(), Seed: seed})
		require.NoError(t, err)
		tr := &trace.Trace{}
		require.NoError(t, r.Play(context.Background(), stimulus.Held(stimulus.Values{}, 25*signal.Millisecond), tr))
		for name, g := range grids(t, l, tr) {
			met[name] = append(met[name], g.begins[len(g.begins)-1]%g.period*4/g.period)
		}
	}
	inEveryQuarter(t, met)
}

// inEveryQuarter holds that the frames of each wire began in each quarter of their period.
func inEveryQuarter(t *testing.T, met map[string][]signal.Time) {
	t.Helper()
	require.Len(t, met, 5)
	for name, quarters := range met {
		var n [4]int
		for _, q := range quarters {
			n[q]++
		}
		assert.NotContains(t, n, 0, "%s: frames began so often in each quarter: %v", name, n)
	}
}
