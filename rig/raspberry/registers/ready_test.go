package registers

import (
	"errors"
	"fmt"
	"slices"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"hilrig/rig"
	"hilrig/rig/raspberry/hostlines"
	"hilrig/rig/signal"
)

// noted are lines that note what is asked of them.
type noted struct {
	said []string
	fail string // what fails
}

func (n *noted) say(what string) error {
	n.said = append(n.said, what)
	if what == n.fail {
		return errors.New("no")
	}
	return nil
}

func (n *noted) Output(gpio int, level bool) error { return n.say(fmt.Sprint("output ", gpio, level)) }
func (n *noted) Input(gpio int, pull hostlines.Pull) error {
	return n.say(fmt.Sprint("input ", gpio, pull))
}
func (n *noted) Write(gpio int, level bool) error { return n.say(fmt.Sprint("write ", gpio, level)) }
func (n *noted) Read(int) (bool, error)           { return false, nil }
func (n *noted) Close() error                     { return n.say("close") }

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

// ready has a bench make lines ready, on a clock of its own.
func ready(bank PinBank, lines hostlines.Lines, s hostlines.Settings) Settings {
	return Settings{Settings: s, PinBank: bank, Lines: lines, Time: turnsOfATest()}
}

func TestLinesAreMadeReadyBeforeTheBenchPlays(t *testing.T) {
	lines, bank := &noted{}, &Memory{}
	b, err := New(ready(bank, lines, pinned(26)))
	require.NoError(t, err)
	ready := []string{"output 17 false", "output 18 true", fmt.Sprint("input 22 ", hostlines.PullDown), fmt.Sprint("input 23 ", hostlines.PullUp), "output 26 true"}
	assert.Equal(t, ready, lines.said)
	assert.EqualValues(t, 1<<18, bank.Level())
	require.NoError(t, b.Restart())
	assert.Equal(t, []string{"write 26 false", "write 26 true"}, lines.said[len(ready):])
	require.NoError(t, b.Close())
	assert.Equal(t, "close", lines.said[len(lines.said)-1])
	assert.Error(t, b.Restart())
}

func TestABenchWithoutAResetLineCannotRestart(t *testing.T) {
	lines := &noted{}
	b, err := New(ready(&Memory{}, lines, pinned(0)))
	require.NoError(t, err)
	defer b.Close()
	assert.ErrorIs(t, b.Restart(), rig.ErrNotPossible)
	assert.NotContains(t, lines.said, "output 26 true")
}

func TestLinesThatCannotBeMadeReadyAreGivenBack(t *testing.T) {
	for _, fail := range []string{"output 17 false", fmt.Sprint("input 23 ", hostlines.PullUp), "output 26 true"} {
		lines := &noted{fail: fail}
		_, err := New(ready(&Memory{}, lines, pinned(26)))
		assert.Error(t, err, fail)
		assert.Equal(t, "close", lines.said[len(lines.said)-1])
	}
	lines := &noted{}
	s := pinned(26)
	s.Pins[1] = 17
	_, err := New(ready(&Memory{}, lines, s))
	assert.ErrorContains(t, err, "both on GPIO17")
	assert.Equal(t, []string{"close"}, lines.said, "no line was touched")
}

// The pin on which a UART sends is its driver's, and one that listens to an adapter is
// an input.
func TestAPortsPinIsNoOutput(t *testing.T) {
	s := pinned(0)
	s.Layout.Lines = append(s.Layout.Lines, signal.LineSpec{Name: "yaw_serial", Idle: true, Role: signal.SerialData})
	for device, want := range map[string]string{
		"/dev/ttyAMA0": "", "/dev/ttyUSB0": fmt.Sprint("input 14 ", hostlines.PullUp), "": "output 14 true",
	} {
		lines := &noted{}
		one := s
		one.Pins, one.Devices = append(slices.Clone(s.Pins), 14), map[string]string{"yaw_serial": device}
		require.NoError(t, makeReady(lines, &one))
		got := lines.said[4:]
		if want == "" {
			assert.Empty(t, got)
			continue
		}
		assert.Equal(t, []string{want}, got, device)
	}
	lines := &noted{}
	s.Pins, s.Devices = append(s.Pins, hostlines.NoPin), map[string]string{"yaw_serial": "/dev/ttyUSB0"}
	require.NoError(t, makeReady(lines, &s))
	assert.Len(t, lines.said, 4, "there is no pin")
}
