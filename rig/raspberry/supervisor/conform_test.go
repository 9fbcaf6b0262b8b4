package supervisor

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"hilrig/rig"
	"hilrig/rig/benchtest"
	"hilrig/rig/interlock"
	"hilrig/rig/raspberry/hostlines"
	"hilrig/rig/raspberry/realtime"
	"hilrig/rig/raspberry/registers"
	"hilrig/rig/signal"
)

// ticking waits tick by tick, as whoever is under a supervisor has to.
type ticking struct{ rig.Bench }

func (b ticking) Wait(t signal.Time) error {
	for b.Now()+ms < t {
		if err := b.Bench.Wait(b.Now() + ms); err != nil {
			return err
		}
	}
	return b.Bench.Wait(t)
}

// A bench under the supervisor's eyes is the bench that it is without: a bank in memory, on a
// clock that the test brings forward, before a supervisor in the same process.
func TestASupervisedBenchConforms(t *testing.T) {
	benchtest.Run(t, func(t testing.TB) benchtest.Subject {
		return conforming(t, func(w *Worker, b rig.Bench, _ signal.Layout) rig.Bench { return w.Bench(b, nil) })
	})
}

// So is one with a stand's watch over another line: what that reads back is lost to nobody.
func TestASupervisedStandConforms(t *testing.T) {
	benchtest.Run(t, func(t testing.TB) benchtest.Subject {
		return conforming(t, func(w *Worker, b rig.Bench, layout signal.Layout) rig.Bench {
			watch, err := NewStandWatch(layout, StandSettings{Throttle: standThrottle, First: 0.1, Limit: 1})
			require.NoError(t, err)
			b, err = w.Stand(b, watch)
			require.NoError(t, err)
			return b
		})
	})
}

// conforming is a bench that is put under a supervisor.
func conforming(t testing.TB, put func(w *Worker, b rig.Bench, layout signal.Layout) rig.Bench) benchtest.Subject {
	layout := signal.Layout{
		Lines: []signal.LineSpec{
			{Name: "steer", Role: signal.SteerPulse}, {Name: "yaw_serial", Idle: true, Role: signal.SerialData},
			{Name: "motor_front_left", Direction: signal.Capture, Role: signal.Motor, Wheel: signal.FrontLeft}, {Name: "front_left_a", Role: signal.EncoderA, Wheel: signal.FrontLeft}, {Name: "front_left_b", Role: signal.EncoderB, Wheel: signal.FrontLeft},
			signal.Spec(signal.ThrottleCommand, signal.NoWheel),
		},
		Ports: []signal.PortSpec{{Name: "yaw_serial", Line: 1, Baud: 115200}},
	}
	clock := &realtime.Manual{}
	pair, _ := onLog(t, clock, Settings{Power: interlock.SignalsOnly, Confirmed: true})
	m := &registers.Memory{}
	m.Wire(17, 22)
	bench, err := registers.New(registers.Settings{Settings: hostlines.Settings{Layout: layout, Pins: hostlines.Pins{17, 14, 22, 5, 6, 13}}, PinBank: m, Time: &registers.Turns{Clock: clock}})
	require.NoError(t, err)
	t.Cleanup(func() {
		assert.Contains(t, []string{"", "the worker lost its timing"}, pair.worker.Why(), "only what was denied may trip")
	})
	return benchtest.Subject{
		Bench: ticking{put(pair.worker, bench, layout)}, From: 0, To: 2, Delay: 100 * ms, Port: 0,
		Strict: true, Logged: []signal.Line{3, 4},
	}
}
