//go:build pivm

package registers

import (
	"fmt"
	"os"
	"os/exec"
	"regexp"
	"syscall"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"hilrig/rig/raspberry/cdev"
	"hilrig/rig/raspberry/hostlines"
	"hilrig/rig/raspberry/pinout"
)

// These tests run as root on an emulated Pi 3 with Debian's kernel (.ci/vm/pi-run). It
// differs from a real one with Raspberry Pi OS in this: there is no /dev/gpiomem, so
// that the registers are mapped from /dev/mem, and all that follows is the same; no
// line is connected to anything; pulls have no effect; and its time is the
// emulator's, which says nothing of a real Pi's.
//
// Held against: the kernel's own driver, which tells function and level of each line in
// debugfs (torvalds/linux, drivers/pinctrl/bcm/pinctrl-bcm2835.c).

// openPi opens the registers of this machine, and makes all its lines inputs at the
// end.
func openPi(t testing.TB) *Registers {
	t.Helper()
	r, err := OpenRegisters(pinout.Identify(os.DirFS("/")).Model)
	require.NoError(t, err)
	t.Cleanup(func() {
		r.closed = false
		for gpio := range 28 {
			if r.functionOf(gpio) == functionOutput {
				assert.NoError(t, r.Input(gpio, hostlines.PullDown))
			}
		}
	})
	return r
}

var pinRow = regexp.MustCompile(`(?m)^pin (\d+) \(gpio\d+\) .* function (\w+) in (hi|lo);`)

// kernel returns what the kernel's driver says of a line, "gpio_out hi".
func kernel(t testing.TB, gpio int) string {
	t.Helper()
	rows, err := os.ReadFile("/sys/kernel/debug/pinctrl/3f200000.gpio-pinctrl-bcm2835/pins")
	require.NoError(t, err)
	for _, row := range pinRow.FindAllSubmatch(rows, -1) {
		if string(row[1]) == fmt.Sprint(gpio) {
			return fmt.Sprintf("%s %s", row[2], row[3])
		}
	}
	require.Fail(t, "the kernel says nothing", "of GPIO%d:\n%s", gpio, rows)
	return ""
}

func TestPiModelIsRecognised(t *testing.T) {
	host := pinout.Identify(os.DirFS("/"))
	assert.Equal(t, pinout.Pi3, host.Model)
	assert.Contains(t, host.Name, "Pi 3 Model B")
	address, err := registersAddress(os.DirFS("/"), pinout.Pi3)
	require.NoError(t, err)
	claimed, err := os.ReadFile("/proc/iomem")
	require.NoError(t, err)
	assert.Contains(t, string(claimed), fmt.Sprintf("%08x-3f2000b3 : 3f200000.gpio", address), "where the kernel's driver has them")
	_, err = OpenRegisters(pinout.Pi4)
	assert.ErrorContains(t, err, "this is no Pi 4B")
	_, err = OpenRegisters(pinout.Pi5)
	assert.ErrorContains(t, err, "character device")
}

func TestPiLinesOneByOne(t *testing.T) {
	r := openPi(t)
	for _, gpio := range []int{2, 9, 10, 17, 22, 27} {
		require.NoError(t, r.Output(gpio, true))
		assert.Equal(t, "gpio_out hi", kernel(t, gpio), "GPIO%d", gpio)
		high, err := r.Read(gpio)
		require.NoError(t, err)
		assert.True(t, high, "GPIO%d", gpio)
		assert.Equal(t, "gpio_out hi", kernel(t, gpio), "GPIO%d: reading leaves an output one", gpio)

		require.NoError(t, r.Write(gpio, false))
		assert.Equal(t, "gpio_out lo", kernel(t, gpio), "GPIO%d", gpio)
		high, err = r.Read(gpio)
		require.NoError(t, err)
		assert.False(t, high, "GPIO%d", gpio)
		require.NoError(t, r.Output(gpio, true))
		assert.Equal(t, "gpio_out hi", kernel(t, gpio), "GPIO%d", gpio)

		for _, pull := range []hostlines.Pull{hostlines.PullUp, hostlines.PullDown, hostlines.PullNone} {
			require.NoError(t, r.Input(gpio, pull))
			assert.Contains(t, kernel(t, gpio), "gpio_in", "GPIO%d", gpio)
		}
		assert.ErrorContains(t, r.Write(gpio, true), "no output")
	}
}

func TestPiLinesAsABank(t *testing.T) {
	r := openPi(t)
	const all = 1<<4 | 1<<17 | 1<<27
	for _, gpio := range []int{4, 17, 27} {
		require.NoError(t, r.Output(gpio, false))
	}
	assert.Zero(t, r.Level()&all)
	r.Set(1<<4 | 1<<27)
	assert.Equal(t, uint32(1<<4|1<<27), r.Level()&all)
	assert.Equal(t, "gpio_out hi", kernel(t, 4))
	assert.Equal(t, "gpio_out lo", kernel(t, 17), "others stay")
	assert.Equal(t, "gpio_out hi", kernel(t, 27))
	r.Set(1 << 17)
	r.Clear(1 << 4)
	assert.Equal(t, uint32(1<<17|1<<27), r.Level()&all)
	assert.Equal(t, "gpio_out lo", kernel(t, 4))
	assert.Equal(t, "gpio_out hi", kernel(t, 17))
	r.Clear(all)
	assert.Zero(t, r.Level()&all)
	assert.Zero(t, testing.AllocsPerRun(100, func() {
		r.Set(1 << 17)
		r.Clear(1<<17 | r.Level()&1<<4)
	}))
}

// The kernel drives, the registers see it and leave the line as it is.
func TestPiSeesWhatTheKernelDrives(t *testing.T) {
	r := openPi(t)
	chip, err := cdev.Open("/dev/gpiochip0")
	require.NoError(t, err)
	defer chip.Close()
	require.Equal(t, "pinctrl-bcm2835", chip.Info().Label)
	line, err := chip.Outputs("hilrig", []uint32{23}, 1)
	require.NoError(t, err)
	for _, level := range []uint64{1, 0, 1} {
		require.NoError(t, line.Set(1, level))
		assert.Equal(t, uint32(level), r.Level()>>23&1)
		high, err := r.Read(23)
		require.NoError(t, err)
		assert.Equal(t, level == 1, high)
		assert.Contains(t, kernel(t, 23), "gpio_out")
	}
	r.Clear(1 << 23)
	levels, err := line.Levels()
	require.NoError(t, err)
	assert.Zero(t, levels, "nor does the kernel know who wrote")
	require.NoError(t, line.Close())
}

// The device tree of a Pi 3 gives GPIO14 and 15 to a serial port.
func TestPiLeavesPeripheralsTheirLines(t *testing.T) {
	r := openPi(t)
	before := kernel(t, 14)
	require.Contains(t, before, "alt5")
	assert.ErrorContains(t, r.Output(14, true), "alternate function 5")
	assert.ErrorContains(t, r.Input(14, hostlines.PullUp), "alternate function 5")
	assert.Equal(t, before, kernel(t, 14))
	_, err := r.Read(14)
	assert.NoError(t, err)
}

// A user without rights gets an error and its cure.
func TestPiRefusesAUserWithoutRights(t *testing.T) {
	opener := exec.Command("/proc/self/exe")
	opener.Env = append(os.Environ(), childKey+"=open")
	opener.SysProcAttr = &syscall.SysProcAttr{Credential: &syscall.Credential{Uid: 65534, Gid: 65534}}
	out, err := opener.CombinedOutput()
	require.NoError(t, err, "%s", out)
	assert.Contains(t, string(out), "be root")
	assert.NotContains(t, string(out), "panic")
}

// A kernel that does not let its drivers' registers be mapped: an error with its
// cure, where a driver that takes the mapping for granted would panic at the first
// access. It needs a start of its own: PIVM_APPEND empty.
func TestStrictPiIsAnErrorAndNoPanic(t *testing.T) {
	line, err := os.ReadFile("/proc/cmdline")
	require.NoError(t, err)
	require.NotContains(t, string(line), "iomem=relaxed", "this kernel lets registers be mapped: start it with PIVM_APPEND empty")
	r, err := OpenRegisters(pinout.Pi3)
	t.Log(err)
	assert.ErrorContains(t, err, "be root with iomem=relaxed")
	assert.Nil(t, r)
}

// childKey names in the environment what the test's own program does as a child.
const childKey = "HILRIG_PI_CHILD"

func init() {
	act := map[string]func() error{"play": playForever, "open": openAndTell}[os.Getenv(childKey)]
	if act == nil {
		return
	}
	if err := act(); err != nil {
		fmt.Println(err)
		os.Exit(1)
	}
	os.Exit(0)
}

func openAndTell() error {
	_, err := OpenRegisters(pinout.Pi3)
	fmt.Println(err)
	return nil
}
