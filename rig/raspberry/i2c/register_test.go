package i2c

import (
	"errors"
	"fmt"
	"math"
	"syscall"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"periph.io/x/conn/v3/i2c/i2ctest"
)

// Shunt and bus registers of monitors as their data sheets give them: SLUS939B, page 47; SBOS576B,
// page 27, whose three lowest bits are none, so that a count of the whole register is 5 uV and 1 mV.
func TestARegisterIsReadAsItsDataSheetSays(t *testing.T) {
	for _, test := range []struct {
		source   string
		register Register
		data     []byte
		want     float64
	}{
		{"READ SLUS939B: -320 mV is 8300h, 10 uV a count", Register{Width: 2, Signed: true, Scale: 10e-6}, []byte{0x83, 0x00}, -0.320},
		{"READ SLUS939B: 320 mV is 7D00h", Register{Width: 2, Signed: true, Scale: 10e-6}, []byte{0x7D, 0x00}, 0.320},
		{"READ SLUS939B: -160 mV is C180h", Register{Width: 2, Signed: true, Scale: 10e-6}, []byte{0xC1, 0x80}, -0.160},
		{"READ SBOS576B: -80 mV is C180h, 40 uV a count of the upper 13 bits", Register{Width: 2, Signed: true, Scale: 5e-6}, []byte{0xC1, 0x80}, -0.080},
		{"READ SBOS576B: -80 mV is C180h, the lowest three bits being none", Register{Width: 2, Signed: true, Shift: 3, Scale: 40e-6}, []byte{0xC1, 0x80}, -0.080},
		{"READ SBOS576B: 32.76 V is 7FF8h", Register{Quantity: Voltage, Width: 2, Signed: true, Scale: 1e-3}, []byte{0x7F, 0xF8}, 32.760},
		{"CALC: low byte first", Register{Width: 2, Signed: true, LowFirst: true, Scale: 10e-6}, []byte{0x00, 0x83}, -0.320},
		{"CALC: one byte", Register{Width: 1, Signed: true, Scale: 1}, []byte{0x80}, -128},
		{"CALC: one byte, unsigned, with offset", Register{Width: 1, Scale: 0.5, Offset: -10}, []byte{0x80}, 54},
		{"CALC: three bytes", Register{Width: 3, Signed: true, Scale: 1}, []byte{0xFF, 0xFF, 0xFE}, -2},
		{"CALC: three bytes, low byte first", Register{Width: 3, Signed: true, LowFirst: true, Scale: 1}, []byte{0xFE, 0xFF, 0xFF}, -2},
		{"CALC: four bytes, unsigned", Register{Width: 4, Scale: 1}, []byte{0xFF, 0xFF, 0xFF, 0xFF}, 1<<32 - 1},
	} {
		t.Run(test.source, func(t *testing.T) {
			test.register.Address, test.register.Number = 0x40, 0x01
			bus := &i2ctest.Playback{DontPanic: true, Ops: []i2ctest.IO{{Addr: 0x40, W: []byte{0x01}, R: test.data}}}
			raw, err := test.register.Read(bus)
			require.NoError(t, err)
			require.NoError(t, bus.Close())
			assert.InDelta(t, test.want, test.register.Value(raw), 1e-12)
		})
	}
}

func TestACountAtTheEndOfTheRangeIsSeen(t *testing.T) {
	for _, test := range []struct {
		register Register
		raw      int64
		want     bool
	}{
		{Register{Width: 2, Signed: true}, 0x7FFF, true},
		{Register{Width: 2, Signed: true}, -0x8000, true},
		{Register{Width: 2, Signed: true}, 0x7FFE, false},
		{Register{Width: 2, Signed: true}, -1, false},
		{Register{Width: 2}, 0xFFFF, true},
		{Register{Width: 2}, 0, false},
		{Register{Width: 4}, 1<<32 - 1, true},
		{Register{Width: 2, Signed: true, Shift: 3}, 0xFFF, true},
		{Register{Width: 2, Signed: true, Shift: 3}, -0x1000, true},
		{Register{Width: 2, Shift: 4}, 0xFFF, true},
		{Register{Width: 2, Shift: 4}, 0xFFE, false},
	} {
		assert.Equal(t, test.want, test.register.AtItsEnd(test.raw), "%+v %d", test.register, test.raw)
	}
}

func TestADeclarationThatCannotBeReadIsRefused(t *testing.T) {
	good := Register{Address: 0x40, Width: 2, Scale: 1e-3}
	require.NoError(t, good.Check())
	for _, test := range []struct {
		fault func(r *Register)
		says  string
	}{
		{func(r *Register) { r.Address = 0x80 }, "address 0x80 on the I2C bus is reserved; write the converter's 7 bits"},
		{func(r *Register) { r.Address = 0 }, "is reserved"},
		{func(r *Register) { r.Width = 0 }, "a register of 0 bytes cannot be read"},
		{func(r *Register) { r.Width = 5 }, "a register of 5 bytes cannot be read"},
		{func(r *Register) { r.Shift = 16 }, "a register of 2 bytes has no 16 bits on the right without value"},
		{func(r *Register) { r.Scale = 0 }, "a scale of 0 says nothing of the current"},
		{func(r *Register) { r.Scale = math.NaN() }, "a scale of NaN"},
		{func(r *Register) { r.Offset = math.Inf(1) }, "an offset of +Inf"},
	} {
		r := good
		test.fault(&r)
		assert.ErrorContains(t, r.Check(), test.says)
	}
}

// The bus's driver wraps the kernel's error by its text alone.
func TestNobodyAtTheAddressIsDistinguished(t *testing.T) {
	r := Register{Address: 0x41, Number: 2, Width: 2, Scale: 1}
	for _, test := range []struct {
		err    error
		absent bool
	}{
		{fmt.Errorf("sysfs-i2c: %v", syscall.ENXIO), true},
		{fmt.Errorf("sysfs-i2c: %v", eremoteio), true},
		{syscall.ENXIO, true},
		{fmt.Errorf("sysfs-i2c: %v", syscall.ETIMEDOUT), false},
		{errors.New("something else"), false},
	} {
		_, err := r.Read(&failing{err: test.err})
		assert.Equal(t, test.absent, errors.Is(err, ErrAbsent), test.err)
		assert.ErrorContains(t, err, "current in register 0x02 at address 0x41: ")
	}
}

func TestAValueIsWrittenWithItsUnit(t *testing.T) {
	assert.Equal(t, "1.250A", Current.Text(1.25))
	assert.Equal(t, "-320mV", Voltage.Text(-0.32))
}
