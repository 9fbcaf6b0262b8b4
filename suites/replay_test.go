package suites

import (
	"context"
	"crypto/sha256"
	"encoding/hex"
	"errors"
	"sync"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"hilrig/assertions"
	"hilrig/rig/signal"
	"hilrig/suites/record"
)

func TestWiresOfARecordedCaseComeBack(t *testing.T) {
	s := load(t, "built-in:no_cap", short)
	r, _, err := s.Run(context.Background(), Options{})
	require.NoError(t, err)
	again, err := Load(FilesOf(r, s.Inputs()))
	require.NoError(t, err)
	w, err := again.Rewatch(context.Background(), r, 0, 1)
	require.NoError(t, err)
	c := r.Suites[0].Cases[1]
	assert.InDelta(t, float64(c.LengthNS), float64(w.To-w.From), float64(2*signal.Millisecond))
	rises := map[string]int{}
	level := append([]bool(nil), w.Levels...)
	last := w.From
	for _, e := range w.Edges {
		require.GreaterOrEqual(t, e.At, last)
		require.NotEqual(t, level[e.Line], e.Level, "line %d at %v", e.Line, e.At)
		last, level[e.Line] = e.At, e.Level
		if e.Level {
			rises[w.Layout.Lines[e.Line].Name]++
		}
	}
	seconds := (w.To - w.From).Seconds()
	assert.InDelta(t, 100*seconds, rises["steer"], 2, "the receiver's 100 frames a second")
	assert.InDelta(t, 1000/3.0*seconds, rises["motor_rear_left"], 3, "the board's 333 pulses a second")
	assert.Greater(t, rises["yaw_serial"], 1000)
	assert.Greater(t, rises["rear_left_a"], 1000)
}

func TestReplayThatDiffersIsNoEvidence(t *testing.T) {
	s := load(t, "", short)
	r, _, err := s.Run(context.Background(), Options{Only: "turn"})
	require.NoError(t, err)
	_, err = s.Rewatch(context.Background(), r, 0, 2)
	assert.ErrorContains(t, err, "was not played")
	r.Suites[0].Cases[0].Trace = "0123456789abcdef"
	_, err = s.Rewatch(context.Background(), r, 0, 1)
	assert.ErrorContains(t, err, "came out differently")
}

// What a bench in real time had on its wires is not what a simulation of it has.
func TestARunInRealTimeIsNotReplayed(t *testing.T) {
	s := load(t, "", short)
	r, _, err := s.Run(context.Background(), Options{Only: "turn left"})
	require.NoError(t, err)
	r.Real, r.Board.Name = "Pi 4B, registers", RealBoard
	_, err = s.Rewatch(context.Background(), r, 0, 0)
	assert.ErrorContains(t, err, "in real time (Pi 4B, registers, board on its wires): played again")
}

func TestInputsNameEveryFile(t *testing.T) {
	in := load(t, "", short).Inputs()
	var roles []string
	for _, i := range in {
		roles = append(roles, i.Role)
		assert.NotEmpty(t, i.Data)
	}
	assert.Equal(t, []string{record.CarInput, record.BenchInput, record.SuiteInput}, roles)
}

func TestTracesOfARecordedRunComeBack(t *testing.T) {
	s := load(t, "built-in:no_cap", short, short)
	frames := map[[2]int]int{}
	var mu sync.Mutex
	r, _, err := s.Run(context.Background(), Options{Workers: 2, Evidence: func(suite, index int, e *assertions.Evidence) {
		mu.Lock()
		defer mu.Unlock()
		frames[[2]int{suite, index}] = len(e.Trace.Motor[0].Frames)
	}})
	require.NoError(t, err)
	require.Len(t, frames, 6)
	again, err := Load(FilesOf(r, s.Inputs()))
	require.NoError(t, err)
	seen := map[[2]int]bool{}
	want := func(suite, index int) bool { return suite == 1 || index == 1 }
	require.NoError(t, again.Retrace(context.Background(), r, want, func(c *Retraced) error {
		at := [2]int{c.Suite, c.Index}
		seen[at] = true
		sum := sha256.New()
		c.Evidence.Trace.Hash(sum)
		assert.Equal(t, r.Suites[c.Suite].Cases[c.Index].Trace, hex.EncodeToString(sum.Sum(nil)), "the wires of case %v", at)
		assert.Len(t, c.Evidence.Trace.Motor[0].Frames, frames[at])
		assert.Equal(t, r.Suites[c.Suite].Cases[c.Index].Name, c.Case.Name)
		return nil
	}))
	assert.Equal(t, map[[2]int]bool{{0, 1}: true, {1, 0}: true, {1, 1}: true, {1, 2}: true}, seen)

	full := errors.New("the disk is full")
	err = again.Retrace(context.Background(), r, want, func(*Retraced) error { return full })
	require.ErrorIs(t, err, full)
	r.Suites[1].Cases[0].Trace = "0123456789abcdef"
	err = again.Retrace(context.Background(), r, want, func(*Retraced) error { return nil })
	assert.ErrorContains(t, err, "came out differently")
}
