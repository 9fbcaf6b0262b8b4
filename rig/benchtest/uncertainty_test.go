package benchtest_test

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"hilrig/rig"
	"hilrig/rig/raspberry/hostlines"
	"hilrig/rig/raspberry/realtime"
	"hilrig/rig/raspberry/registers"
	"hilrig/rig/signal"
	"hilrig/rig/simulated"
)

const (
	us = signal.Microsecond
	ms = signal.Millisecond
)

// wire is a board that is a piece of wire from line 0 to line 1.
type wire struct{}

func (wire) Name() string              { return "wire" }
func (wire) Restart(signal.Time) error { return nil }
func (wire) Close() error              { return nil }

func (wire) Run(in []signal.Edge, _ signal.Time, out []signal.Edge) ([]signal.Edge, error) {
	for _, e := range in {
		out = append(out, signal.Edge{At: e.At, Line: 1, Level: e.Level})
	}
	return out, nil
}

// stalled returns a source of chance by which there is one stall, of the least length.
func stalled(at signal.Time) func() uint64 {
	draws := []uint64{uint64(at), 0, uint64(2 * signal.Second)}
	n := 0
	return func() uint64 { n++; return draws[min(n, len(draws))-1] }
}

// A sampler in real time and the simulated one state the same uncertainty for the same turn, all of which
// the read takes: two turns, of a change on a captured line and on one that is read back, and for two
// samples after a stall that as well, whether or not anything changed.
func TestSamplersStateTheSameUncertainty(t *testing.T) {
	layout := signal.Layout{Lines: []signal.LineSpec{{Name: "steer", Role: signal.SteerPulse}, {Name: "motor_front_left", Direction: signal.Capture, Role: signal.Motor, Wheel: signal.FrontLeft}}}
	const stall, at = 300 * us, 3 * ms
	for _, turn := range []signal.Time{50, 175, 1000} {
		clock := new(realtime.Manual)
		m := &registers.Memory{}
		m.Wire(17, 22)
		real, err := registers.New(registers.Settings{Settings: hostlines.Settings{Layout: layout, Pins: hostlines.Pins{17, 22}}, PinBank: m, Time: &registers.Turns{Clock: clock, Turn: turn, Stalls: []registers.Stall{{At: at, For: stall}}}})
		require.NoError(t, err)
		virtual, err := simulated.New(simulated.Settings{
			Layout: layout, Board: wire{},
			Sampler: simulated.Sampler{Period: turn, Stalls: simulated.Stalls{Mean: signal.Second, Least: stall, Most: stall, Draw: stalled(at)}},
		})
		require.NoError(t, err)
		for name, bench := range map[string]rig.Bench{"real": real, "simulated": virtual} {
			back, err := bench.ReadBack(nil)
			require.NoError(t, err)
			require.NoError(t, bench.Drive([]signal.Edge{
				{At: ms + 30, Level: true}, {At: 2*ms + 30}, {At: 4*ms + 30, Level: true}, {At: 5*ms + 30},
			}, 6*ms))
			require.NoError(t, bench.Wait(6*ms))
			captured, err := bench.Captured(nil)
			require.NoError(t, err)
			back, err = bench.ReadBack(back)
			require.NoError(t, err)
			two := uint32(2 * turn)
			want := []uint32{two, two, two + uint32(stall), two + uint32(stall), two, two}
			assert.Equal(t, want, lateness(captured), "%s, captured, a turn of %d ns", name, turn)
			assert.Equal(t, want, lateness(back), "%s, read back, a turn of %d ns", name, turn)
			require.NoError(t, bench.Close())
		}
	}
}

// lateness returns how uncertain edges are.
func lateness(edges []signal.Edge) (late []uint32) {
	for _, e := range edges {
		late = append(late, e.Uncertainty)
	}
	return late
}
