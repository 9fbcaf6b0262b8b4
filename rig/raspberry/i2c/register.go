package i2c

import (
	"encoding/binary"
	"errors"
	"fmt"
	"math"
	"strings"
	"syscall"

	"periph.io/x/conn/v3/i2c"
	"periph.io/x/conn/v3/physic"
)

// Quantity is what a register holds.
type Quantity uint8

// The quantities.
const (
	Current Quantity = iota // A
	Voltage                 // V
)

// String returns the quantity's word, as in files.
func (q Quantity) String() string {
	if q == Voltage {
		return "voltage"
	}
	return "current"
}

// Text returns a value of the quantity with its unit, as "1.25A".
func (q Quantity) Text(value float64) string {
	nano := int64(min(max(math.Round(value*1e9), math.MinInt64), math.MaxInt64/2))
	if q == Voltage {
		return physic.ElectricPotential(nano).String()
	}
	return physic.ElectricCurrent(nano).String()
}

// Register is a register of a converter on the bus. Its zero value is none.
type Register struct {
	Quantity Quantity
	Address  uint16  // of the converter: 0x08 to 0x77
	Number   uint8   // of the register
	Width    int     // bytes, 1 to 4
	LowFirst bool    // the low byte comes first
	Signed   bool    // two's complement
	Shift    int     // bits on the right that carry no value
	Scale    float64 // value for one count, not 0
	Offset   float64 // value of count 0
}

// Check says what is wrong with a declaration.
func (r *Register) Check() error {
	switch {
	case r.Address < 0x08 || r.Address > 0x77:
		return fmt.Errorf("address %#02x on the I2C bus is reserved; write the converter's 7 bits, 0x08 to 0x77, without the bit for reading", r.Address)
	case r.Width < 1 || r.Width > 4:
		return fmt.Errorf("a register of %d bytes cannot be read; write a width of 1 to 4 bytes", r.Width)
	case r.Shift < 0 || r.Shift >= 8*r.Width:
		return fmt.Errorf("a register of %d bytes has no %d bits on the right without value; write a shift from 0 to %d", r.Width, r.Shift, 8*r.Width-1)
	case r.Scale == 0 || math.IsNaN(r.Scale) || math.IsInf(r.Scale, 0):
		return fmt.Errorf("a scale of %v says nothing of the %v; write what one count stands for", r.Scale, r.Quantity)
	case math.IsNaN(r.Offset) || math.IsInf(r.Offset, 0):
		return fmt.Errorf("an offset of %v says nothing of the %v; write what count 0 stands for", r.Offset, r.Quantity)
	}
	return nil
}

// String names the register in messages.
func (r *Register) String() string {
	return fmt.Sprintf("%v in register %#02x at address %#02x", r.Quantity, r.Number, r.Address)
}

// Raw returns the count that the register's bytes stand for, in the order in which they come.
func (r *Register) Raw(data []byte) int64 {
	var wide [8]byte
	if r.LowFirst {
		copy(wide[:], data)
	} else {
		for i, b := range data {
			wide[len(data)-1-i] = b
		}
	}
	raw := int64(binary.LittleEndian.Uint64(wide[:]))
	if bits := 8 * len(data); r.Signed && raw >= 1<<(bits-1) {
		raw -= 1 << bits
	}
	return raw >> r.Shift
}

// Value returns what a count stands for.
func (r *Register) Value(raw int64) float64 { return float64(float64(raw)*r.Scale) + r.Offset }

// AtItsEnd says whether a count is an end of the register's range: what is measured may lie
// beyond. Count 0 of an unsigned register is none, as a current of 0 is usual.
func (r *Register) AtItsEnd(raw int64) bool {
	bits := 8*r.Width - r.Shift
	if r.Signed {
		return raw == 1<<(bits-1)-1 || raw == -1<<(bits-1)
	}
	return raw == 1<<bits-1
}

// ErrAbsent says that nobody acknowledged an address.
var ErrAbsent = errors.New("nobody answers at the address; see to the converter's supply, its address pins and both wires")

// Read reads the register once, its number written and its bytes read in one transfer. It blocks as
// the bus does. Where nobody acknowledges, the error is [ErrAbsent].
func (r *Register) Read(bus i2c.Bus) (raw int64, err error) {
	var data [4]byte
	into := data[:r.Width]
	if err := bus.Tx(r.Address, []byte{r.Number}, into); err != nil {
		if absent(err) {
			return 0, fmt.Errorf("%v: %w", r, ErrAbsent)
		}
		return 0, fmt.Errorf("%v: %w", r, err)
	}
	return r.Raw(into), nil
}

// absent says whether a transfer failed as nobody acknowledged. The bus's driver keeps no more of
// the kernel's error than its text.
func absent(err error) bool {
	for _, e := range []syscall.Errno{enxio, eremoteio} {
		if errors.Is(err, e) || strings.HasSuffix(err.Error(), e.Error()) {
			return true
		}
	}
	return false
}
