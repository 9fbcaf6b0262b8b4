//go:build pivm

package registers_test

import (
	"os"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"hilrig/rig/raspberry"
	"hilrig/rig/raspberry/cdev"
	"hilrig/rig/raspberry/chardev"
	"hilrig/rig/raspberry/hostlines"
	"hilrig/rig/raspberry/pinout"
	"hilrig/rig/raspberry/registers"
)

// Another program that has requested lines of the kernel is seen before the registers
// drive them, and none is touched.
func TestPiLinesInUseAreDenied(t *testing.T) {
	r := registers.OpenPi(t)
	s := hostlines.Settings{Layout: registers.BenchLines, Pins: registers.BenchPins, Reset: 26}
	for _, gpio := range []int{4, 17, 22, 26} {
		require.NoError(t, r.Input(gpio, hostlines.PullDown))
	}
	path, err := chardev.HeaderChip()
	require.NoError(t, err)
	chip, err := cdev.Open(path)
	require.NoError(t, err)
	defer chip.Close()
	other, err := chip.Plain("other program", []uint32{17}, cdev.PullNone)
	require.NoError(t, err)

	_, err = raspberry.OpenPins(pinout.Pi3, s)
	require.ErrorContains(t, err, "in use by another program or a driver of the kernel")
	assert.ErrorContains(t, err, "steer on GPIO17 (pin 11, has it: other program)")
	for _, gpio := range []int{4, 17, 22, 26} {
		assert.Equal(t, registers.FunctionInput, int(r.FunctionOf(gpio)), "GPIO%d", gpio)
	}
	w := pinout.Wires{Layout: registers.BenchLines, Pins: map[string]int{"steer": 17}}
	require.ErrorContains(t, raspberry.LookUp(pinout.Pi3, &w), "in use by another program or a driver of the kernel")

	require.NoError(t, other.Close())
	require.NoError(t, raspberry.LookUp(pinout.Pi3, &w))
	b, err := raspberry.OpenPins(pinout.Pi3, s)
	require.NoError(t, err)
	require.NoError(t, b.Close())
	for gpio, want := range map[int]string{4: "gpio_out hi", 17: "gpio_out lo", 26: "gpio_out hi"} {
		assert.Equal(t, want, registers.Kernel(t, gpio), "GPIO%d", gpio)
	}
}

// Without the character device nobody can be asked, and the bench opens all the same.
func TestPiWithoutItsGPIOChipOpens(t *testing.T) {
	registers.OpenPi(t)
	path, err := chardev.HeaderChip()
	require.NoError(t, err)
	aside := "/dev/aside-of-a-test"
	require.NoError(t, os.Rename(path, aside))
	defer func() { require.NoError(t, os.Rename(aside, path)) }()
	_, err = raspberry.AskKernel([]int{17})
	require.Error(t, err)
	b, err := raspberry.OpenPins(pinout.Pi3, hostlines.Settings{Layout: registers.BenchLines, Pins: registers.BenchPins})
	require.NoError(t, err)
	require.NoError(t, b.Close())
}
