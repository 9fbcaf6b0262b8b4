package raspberry

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"hilrig/rig/raspberry/chardev"
	"hilrig/rig/raspberry/hostlines"
	"hilrig/rig/raspberry/pinout"
	"hilrig/rig/signal"
)

// pinned is a bench of a line of each kind.
func pinned(reset int) hostlines.Settings {
	return hostlines.Settings{
		Layout: signal.Layout{Lines: []signal.LineSpec{
			{Name: "steer", Role: signal.SteerPulse}, {Name: "spare", Idle: true},
			{Name: "motor_front_left", Direction: signal.Capture, Role: signal.Motor, Wheel: signal.FrontLeft}, {Name: "motor_front_right", Direction: signal.Capture, Idle: true, Role: signal.Motor, Wheel: signal.FrontRight},
		}},
		Pins: hostlines.Pins{17, 18, 22, 23}, Reset: reset,
	}
}

func TestThereAreNoPinsWithoutAPi(t *testing.T) {
	for _, m := range []pinout.Model{pinout.NoPi, pinout.Other} {
		_, err := OpenPins(m, pinned(0))
		assert.ErrorContains(t, err, m.String())
		_, err = OpenLines(m)
		assert.ErrorContains(t, err, m.String())
	}
}

func TestABenchThatDoesNotOpenIsNone(t *testing.T) {
	b, err := opened(chardev.New("/dev/null", pinned(0)))
	require.Error(t, err)
	assert.True(t, b == nil, "not an interface with nothing in it, which others would close")
}
