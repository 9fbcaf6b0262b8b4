//go:build pivm

package raspberry

import (
	"os"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"hilrig/rig/raspberry/cdev"
	"hilrig/rig/raspberry/pinout"
)

// Another program that has requested lines of the kernel is seen before the registers
// drive them, and none is touched.
func TestPiLinesInUseAreRefused(t *testing.T) {
	r := openPi(t)
	s := PinSettings{Layout: benchLines, Pins: benchPins, Reset: 26}
	for _, gpio := range []int{4, 17, 22, 26} {
		require.NoError(t, r.Input(gpio, PullDown))
	}
	path, err := HeaderChip()
	require.NoError(t, err)
	chip, err := cdev.Open(path)
	require.NoError(t, err)
	defer chip.Close()
	other, err := chip.Plain("other program", []uint32{17}, cdev.PullNone)
	require.NoError(t, err)

	_, err = OpenPins(pinout.Pi3, s)
	require.ErrorIs(t, err, errInUse)
	assert.ErrorContains(t, err, "steer on GPIO17 (pin 11, has it: other program)")
	for _, gpio := range []int{4, 17, 22, 26} {
		assert.Equal(t, functionInput, int(r.functionOf(gpio)), "GPIO%d", gpio)
	}
	w := pinout.Wires{Layout: benchLines, Pins: map[string]int{"steer": 17}}
	require.ErrorIs(t, LookUp(pinout.Pi3, &w), errInUse)

	require.NoError(t, other.Close())
	require.NoError(t, LookUp(pinout.Pi3, &w))
	b, err := OpenPins(pinout.Pi3, s)
	require.NoError(t, err)
	require.NoError(t, b.Close())
	for gpio, want := range map[int]string{4: "gpio_out hi", 17: "gpio_out lo", 26: "gpio_out hi"} {
		assert.Equal(t, want, kernel(t, gpio), "GPIO%d", gpio)
	}
}

// Without the character device nobody can be asked, and the bench opens all the same.
func TestPiWithoutItsGPIOChipOpens(t *testing.T) {
	openPi(t)
	path, err := HeaderChip()
	require.NoError(t, err)
	aside := "/dev/aside-of-a-test"
	require.NoError(t, os.Rename(path, aside))
	defer func() { require.NoError(t, os.Rename(aside, path)) }()
	_, err = AskKernel([]int{17})
	require.Error(t, err)
	b, err := OpenPins(pinout.Pi3, PinSettings{Layout: benchLines, Pins: benchPins})
	require.NoError(t, err)
	require.NoError(t, b.Close())
}
