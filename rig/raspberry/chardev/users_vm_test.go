//go:build linux && gpiovm

package chardev_test

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"hilrig/rig/raspberry"
	"hilrig/rig/raspberry/cdev"
	"hilrig/rig/raspberry/chardev"
	"hilrig/rig/raspberry/pinout"
	"hilrig/rig/signal"
)

// A bench on registers has only the kernel's word for who has its lines.
func TestCharLinesReportWhoHasThem(t *testing.T) {
	s := chardev.Simulate(t, 28) // it has the label of a header's chip
	chip, err := cdev.Open(s.Device())
	require.NoError(t, err)
	defer chip.Close()
	other, err := chip.Outputs("other program", []uint32{18, 22}, 0)
	require.NoError(t, err)
	unnamed, err := chip.Plain("", []uint32{5}, cdev.PullNone)
	require.NoError(t, err)
	defer unnamed.Close()

	w := pinout.Wires{
		Layout: signal.Layout{Lines: []signal.LineSpec{{Name: "steer", Role: signal.SteerPulse}, {Name: "spare"}, {Name: "motor_front_left", Direction: signal.Capture, Role: signal.Motor, Wheel: signal.FrontLeft}}},
		Pins:   map[string]int{"steer": 17, "spare": 18, "motor_front_left": 22},
	}
	users, err := raspberry.AskKernel([]int{5, 17, 18, 22, 26})
	require.NoError(t, err)
	assert.Equal(t, "other program", users[18])
	assert.Equal(t, "other program", users[22])
	assert.Contains(t, users, 5)
	assert.Len(t, users, 3)
	err = raspberry.LookUp(pinout.Pi3, &w)
	require.ErrorContains(t, err, "spare on GPIO18 (pin 12, has it: other program)")
	require.ErrorContains(t, err, "motor_front_left on GPIO22 (pin 15, has it: other program)")
	require.ErrorContains(t, err, ": in use")

	require.NoError(t, other.Close())
	assert.NoError(t, raspberry.LookUp(pinout.Pi3, &w))
	_, err = raspberry.AskKernel([]int{17, 28})
	assert.Error(t, err)
}
