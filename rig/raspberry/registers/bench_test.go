package registers

import (
	"testing"

	"github.com/stretchr/testify/require"

	"hilrig/rig/benchtest"
	"hilrig/rig/raspberry/hostlines"
	"hilrig/rig/raspberry/realtime"
	"hilrig/rig/signal"
)

// A piece of wire in memory: steer comes back as motor_front_left. Beside it is a wire of
// an encoder.
func openLoop(t testing.TB, turns *Turns) benchtest.Subject {
	layout := signal.Layout{
		Lines: []signal.LineSpec{
			{Name: "steer", Role: signal.SteerPulse}, {Name: "yaw_serial", Idle: true, Role: signal.SerialData},
			{Name: "motor_front_left", Direction: signal.Capture, Role: signal.Motor, Wheel: signal.FrontLeft}, {Name: "front_left_a", Role: signal.EncoderA, Wheel: signal.FrontLeft}, {Name: "front_left_b", Role: signal.EncoderB, Wheel: signal.FrontLeft},
		},
		Ports: []signal.PortSpec{{Name: "yaw_serial", Line: 1, Baud: 115200}},
	}
	m := &Memory{}
	m.Wire(17, 22)
	b, err := New(Settings{Settings: hostlines.Settings{Layout: layout, Pins: loopPins}, PinBank: m, Time: turns})
	require.NoError(t, err)
	return benchtest.Subject{Bench: b, From: 0, To: 2, Delay: 100 * signal.Millisecond, Port: 0, Logged: []signal.Line{3, 4}}
}

// loopPins are the pins of that wire's bench.
var loopPins = hostlines.Pins{17, 14, 22, 5, 6}

// turnsOfATest are on a clock that a test brings forward.
func turnsOfATest() *Turns { return &Turns{Clock: new(realtime.Manual)} }

func TestBenchConforms(t *testing.T) {
	benchtest.Run(t, func(t testing.TB) benchtest.Subject { return openLoop(t, turnsOfATest()) })
}
