package rig_test

import (
	"context"
	"crypto/sha256"
	"encoding/hex"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"hilrig/rig"
	"hilrig/rig/board"
	"hilrig/rig/signal"
	"hilrig/rig/simulated"
	"hilrig/rig/trace"
	"hilrig/stimulus"
)

// stretches counts into how many stretches a board's time was cut.
type stretches struct {
	board.Board
	n int
}

func (s *stretches) Run(in []signal.Edge, until signal.Time, out []signal.Edge) ([]signal.Edge, error) {
	s.n++
	return s.Board.Run(in, until, out)
}

// told is all that came of programs played one after the other.
type told struct {
	digests          []string // of the traces
	driven, captured []signal.Edge
	stretches        []int // by program
}

func TestToRunAheadAllocatesNothing(t *testing.T) {
	w := wiring()
	b, err := board.NewBuiltIn(board.Bramble(), w.Layout(), 1)
	require.NoError(t, err)
	bench, err := simulated.New(simulated.Settings{Layout: w.Layout(), Board: b})
	require.NoError(t, err)
	defer bench.Close()
	r, err := rig.New(bench, rig.Settings{Wiring: w, Car: car(), Seed: 1, Ahead: 50 * signal.Millisecond})
	require.NoError(t, err)
	var tr trace.Trace
	p := stimulus.Held(stimulus.Values{Speed: 4, Throttle: 0.4}, 200*signal.Millisecond)
	play := func() {
		if err := r.Play(context.Background(), p, &tr); err != nil {
			t.Fatal(err)
		}
	}
	for range 10 {
		play()
	}
	assert.Zero(t, testing.AllocsPerRun(10, play))
}

// played plays programs on a rig that may run ahead, the second one on a trace that folds, with a power cycle before the third.
func played(t *testing.T, ahead signal.Time, programs []*stimulus.Program) (all told) {
	w := wiring()
	layout := w.Layout()
	b, err := board.NewBuiltIn(board.Bramble(), layout, 1)
	require.NoError(t, err)
	counted := &stretches{Board: b}
	bench, err := simulated.New(simulated.Settings{Layout: layout, Board: counted, Tap: func(driven, captured []signal.Edge) {
		all.driven, all.captured = append(all.driven, driven...), append(all.captured, captured...)
	}})
	require.NoError(t, err)
	t.Cleanup(func() { assert.NoError(t, bench.Close()) })
	r, err := rig.New(bench, rig.Settings{Wiring: w, Car: car(), Seed: 1, Ahead: ahead})
	require.NoError(t, err)
	require.NoError(t, r.Settle(context.Background(), stimulus.Values{}, signal.Second, 50*signal.Millisecond))
	for i, p := range programs {
		if i == 2 {
			require.NoError(t, r.Restart())
		}
		var tr trace.Trace
		if i == 1 {
			tr.Folding(&trace.Fold{})
		}
		before := counted.n
		require.NoError(t, r.Play(context.Background(), p, &tr))
		all.stretches = append(all.stretches, counted.n-before)
		h := sha256.New()
		tr.Hash(h)
		all.digests = append(all.digests, hex.EncodeToString(h.Sum(nil)))
		assert.Equal(t, tr.Start+p.Length-signal.Millisecond, r.Now(), "its time has passed, but for the last tick")
	}
	return all
}

func TestToRunAheadChangesNothing(t *testing.T) {
	values := stimulus.Values{Speed: 4, YawRate: 0.5, Steer: 8 * degree, Throttle: 0.4, Gain: 0.5}
	moving := func(length signal.Time) *stimulus.Program {
		p := stimulus.Held(values, length)
		p.Throttle.Hold(length/3, 0.7)
		p.Steer.Hold(length/2, -5*degree)
		return p
	}
	broken, noisy, late := moving(300*signal.Millisecond), moving(400*signal.Millisecond), moving(401*signal.Millisecond)
	broken.Faults = []stimulus.Fault{{Wire: "throttle", Kind: stimulus.Lost, From: 100 * signal.Millisecond, To: 200 * signal.Millisecond}}
	noisy.Faults = []stimulus.Fault{
		{Wire: "yaw_serial", Kind: stimulus.Jitter, By: 3e-6, From: 105 * signal.Millisecond, To: 205 * signal.Millisecond},
		{Wire: "yaw_serial", Kind: stimulus.Glitch, Rate: 2000, Width: 5 * signal.Microsecond, From: 105 * signal.Millisecond, To: 205 * signal.Millisecond},
		{Wire: "steer", Kind: stimulus.Glitch, Rate: 2000, Width: 5 * signal.Microsecond, From: 105 * signal.Millisecond, To: 205 * signal.Millisecond},
	}
	late.Closed, late.Release = true, 200*signal.Millisecond
	programs := []*stimulus.Program{broken, moving(333 * signal.Millisecond), noisy, late, moving(signal.Millisecond), moving(300 * signal.Millisecond)}
	want := played(t, 0, programs)
	assert.Equal(t, 300, want.stretches[0])
	for _, ahead := range []signal.Time{signal.Millisecond, 7 * signal.Millisecond, 50 * signal.Millisecond} {
		got := played(t, ahead, programs)
		assert.Equal(t, want.digests, got.digests, "traces at %v", ahead)
		assert.True(t, assert.ObjectsAreEqual(want.driven, got.driven), "driven edges at %v", ahead)
		assert.True(t, assert.ObjectsAreEqual(want.captured, got.captured), "captured edges at %v", ahead)
		if ahead == 50*signal.Millisecond {
			assert.Equal(t, 6, got.stretches[0], "open loop")
			assert.InDelta(t, 205+195/50, got.stretches[2], 3, "each tick until the port is no longer disturbed")
			assert.InDelta(t, 205, got.stretches[3], 1, "open loop, then closed")
		}
	}
}
