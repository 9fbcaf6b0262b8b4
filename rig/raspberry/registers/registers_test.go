package registers

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"hilrig/rig/raspberry/hostlines"
	"hilrig/rig/raspberry/pinout"
)

// Offsets in bytes, READ in periph.io/x/host, bcm283x/gpio.go, which cites Broadcom,
// "BCM2835 ARM Peripherals", pages 90 and 91, and "BCM2711 ARM Peripherals", pages 65 and
// 73 to 76. They are written out once more here: the code has them in words.
const (
	gpfsel0 = 0x00
	gpset0  = 0x1c
	gpclr0  = 0x28
	gplev0  = 0x34
	gppud   = 0x94
	gppclk0 = 0x98
	gppup0  = 0xe4
)

// inRAM is registers in ordinary memory, which keeps what is written to it.
func inRAM(model pinout.Model) (*Registers, func(offset int) *uint32) {
	words := make([]uint32, wordsNeeded)
	return newRegisters(words, model), func(offset int) *uint32 { return &words[offset/4] }
}

func TestRegistersOfABank(t *testing.T) {
	r, at := inRAM(pinout.Pi4)
	r.Set(0x0102_0304)
	assert.Equal(t, uint32(0x0102_0304), *at(gpset0))
	r.Clear(0x8000_0001)
	assert.Equal(t, uint32(0x8000_0001), *at(gpclr0))
	assert.Equal(t, uint32(0x0102_0304), *at(gpset0), "clearing is a register of its own")
	*at(gplev0) = 0xdead_beef
	assert.Equal(t, uint32(0xdead_beef), r.Level())
}

// Three bits a line, ten lines a register: "BCM2835 ARM Peripherals", tables 6-2 to 6-4.
func TestFunctionSelect(t *testing.T) {
	for _, c := range []struct {
		gpio, offset int
		field        uint32
	}{
		{0, gpfsel0, 1},
		{9, gpfsel0, 1 << 27},
		{10, gpfsel0 + 4, 1},
		{17, gpfsel0 + 4, 1 << 21},
		{22, gpfsel0 + 8, 1 << 6},
		{27, gpfsel0 + 8, 1 << 21},
	} {
		r, at := inRAM(pinout.Pi3)
		others := uint32(0b100100100100100100100100100100) &^ (c.field * 7) // peripherals have them
		*at(c.offset) = others
		require.NoError(t, r.Output(c.gpio, true))
		assert.Equal(t, others|c.field, *at(c.offset), "GPIO%d as an output", c.gpio)
		require.NoError(t, r.Input(c.gpio, hostlines.PullNone))
		assert.Equal(t, others, *at(c.offset), "GPIO%d as an input", c.gpio)
	}
}

func TestOutputAndWriteChangeOneLine(t *testing.T) {
	r, at := inRAM(pinout.Pi4)
	require.NoError(t, r.Output(17, true))
	assert.Equal(t, uint32(1<<17), *at(gpset0))
	assert.Zero(t, *at(gpclr0))
	require.NoError(t, r.Write(17, false))
	assert.Equal(t, uint32(1<<17), *at(gpclr0))

	*at(gplev0) = 1 << 17
	high, err := r.Read(17)
	require.NoError(t, err)
	assert.True(t, high)
	high, err = r.Read(18)
	require.NoError(t, err)
	assert.False(t, high)
	assert.Equal(t, uint32(functionOutput), r.functionOf(17), "reading leaves an output one")
}

// Memory does not tell the order of writes to two places, so here one place stands for
// both: what was written last is what is left of it.
func TestOutputWritesTheLevelBeforeTheFunction(t *testing.T) {
	for _, level := range []bool{false, true} {
		r, at := inRAM(pinout.Pi3)
		both := at(gpset0)
		r.set, r.clear, r.function[1] = both, both, both
		require.NoError(t, r.Output(17, level))
		assert.Equal(t, uint32(1<<17|1<<21), *both)
	}
}

// The code is 0, 1, 2 for none, down, up; it stands while the clock of the line is
// given, and both are taken away: "BCM2835 ARM Peripherals", page 101.
func TestPullsOfAPi3AreStrobedIn(t *testing.T) {
	for pull, code := range map[hostlines.Pull]uint32{hostlines.PullNone: 0, hostlines.PullDown: 1, hostlines.PullUp: 2} {
		r, at := inRAM(pinout.Pi3)
		type pair struct{ code, clock uint32 }
		var seen []pair
		r.settle = func() { seen = append(seen, pair{*at(gppud), *at(gppclk0)}) }
		require.NoError(t, r.Input(22, pull))
		assert.Equal(t, []pair{{code, 0}, {code, 1 << 22}}, seen)
		assert.Equal(t, pair{}, pair{*at(gppud), *at(gppclk0)})
		assert.Zero(t, *at(gppup0), "there is no such register on this chip")
	}
}

// Two bits a line, sixteen lines a register; 0, 1, 2 for none, up, down: "BCM2711 ARM
// Peripherals", section 5.2, GPIO_PUP_PDN_CNTRL_REG0 and 1.
func TestPullsOfAPi4(t *testing.T) {
	for _, c := range []struct {
		gpio, offset int
		pull         hostlines.Pull
		was, want    uint32
	}{
		{0, gppup0, hostlines.PullUp, 0xffff_fffc, 0xffff_fffd},
		{15, gppup0, hostlines.PullDown, 0x7fff_ffff, 0xbfff_ffff},
		{16, gppup0 + 4, hostlines.PullUp, 0, 1},
		{22, gppup0 + 4, hostlines.PullDown, 0x1000, 0x2000},
		{27, gppup0 + 4, hostlines.PullNone, 0xffff_ffff, 0xff3f_ffff},
	} {
		r, at := inRAM(pinout.Pi4)
		*at(c.offset) = c.was
		require.NoError(t, r.Input(c.gpio, c.pull))
		assert.Equal(t, c.want, *at(c.offset), "GPIO%d", c.gpio)
		assert.Zero(t, *at(gppud), "the older chip's registers are left alone")
		assert.Zero(t, *at(gppclk0))
	}
}

func TestLinesThatAreNotToBeChanged(t *testing.T) {
	r, at := inRAM(pinout.Pi3)
	*at(gpfsel0 + 4) = 0b100 << 12 // GPIO14 is the serial port's
	for _, err := range []error{r.Output(14, true), r.Input(14, hostlines.PullUp), r.Write(14, true)} {
		assert.ErrorContains(t, err, "alternate function 0")
	}
	for _, gpio := range []int{-1, 28, 31, 32, 53} {
		for _, err := range []error{r.Output(gpio, true), r.Input(gpio, hostlines.PullUp), r.Write(gpio, true)} {
			assert.ErrorContains(t, err, "not on the header", "GPIO%d", gpio)
		}
		_, err := r.Read(gpio)
		assert.ErrorContains(t, err, "not on the header", "GPIO%d", gpio)
	}
	assert.ErrorContains(t, r.Write(17, true), "no output")
	assert.ErrorContains(t, r.Input(17, hostlines.PullUp+1), "pull 3")
	assert.Zero(t, *at(gpset0)|*at(gpclr0)|*at(gppud)|*at(gpfsel0)|*at(gpfsel0 + 8), "nothing was written")
	assert.Equal(t, uint32(0b100<<12), *at(gpfsel0 + 4))
	_, err := r.Read(14)
	assert.NoError(t, err, "reading does no harm")
}

func TestClosedRegisters(t *testing.T) {
	r, at := inRAM(pinout.Pi3)
	require.NoError(t, r.Output(17, true))
	require.NoError(t, r.Close())
	require.NoError(t, r.Close())
	assert.ErrorIs(t, r.Output(17, false), errRegistersClosed)
	assert.ErrorIs(t, r.Write(17, false), errRegistersClosed)
	assert.ErrorIs(t, r.Input(17, hostlines.PullNone), errRegistersClosed)
	_, err := r.Read(17)
	assert.ErrorIs(t, err, errRegistersClosed)
	assert.Zero(t, *at(gpclr0), "outputs keep their level")
	assert.Equal(t, uint32(1<<21), *at(gpfsel0 + 4), "and stay outputs")
}

func TestRegistersAllocateNothing(t *testing.T) {
	r, _ := inRAM(pinout.Pi4)
	var bank PinBank = r
	var level uint32
	assert.Zero(t, testing.AllocsPerRun(100, func() {
		bank.Set(1)
		bank.Clear(1)
		level += bank.Level()
		_ = r.Output(17, true)
		_ = r.Write(17, false)
		_, _ = r.Read(17)
		_ = r.Input(17, hostlines.PullUp)
	}))
}

var _ hostlines.Lines = (*Registers)(nil)
