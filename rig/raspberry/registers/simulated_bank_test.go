package registers

import (
	"testing"

	"github.com/stretchr/testify/require"

	"hilrig/rig/benchtest"
	"hilrig/rig/raspberry/hostlines"
	"hilrig/rig/signal"
)

// follower is a board that copies line 0 to line 2.
type follower struct{}

func (f *follower) Name() string { return "follower" }

func (f *follower) Run(in []signal.Edge, _ signal.Time, out []signal.Edge) ([]signal.Edge, error) {
	for _, e := range in {
		if e.Line == 0 {
			out = append(out, signal.Edge{At: e.At, Line: 2, Level: e.Level})
		}
	}
	return out, nil
}

func (f *follower) Restart(signal.Time) error { return nil }

func (f *follower) Close() error { return nil }

func TestBenchConformsWithABoardBehindIt(t *testing.T) {
	benchtest.Run(t, func(t testing.TB) benchtest.Subject {
		turns := turnsOfATest()
		s := openLoop(t, turns)
		layout := s.Bench.Layout()
		require.NoError(t, s.Bench.Close())
		pins := loopPins
		m, err := NewSimulatedPinBank(&follower{}, layout, pins)
		require.NoError(t, err)
		s.Bench, err = New(Settings{Settings: hostlines.Settings{Layout: layout, Pins: pins}, PinBank: m, Time: turns})
		require.NoError(t, err)
		s.CanRestart = true
		return s
	})
}
