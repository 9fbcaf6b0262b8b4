package stand

import (
	"errors"
	"fmt"
	"math"
	"sync"

	"hilrig/rig/signal"

	"periph.io/x/conn/v3/i2c"
	"periph.io/x/conn/v3/physic"
)

// converter measures the pack's voltage and a current, and answers on I2C.
type converter struct {
	settings         Converter
	next             signal.Time
	voltage, current float64 // V, A, sums of steps since the last conversion
	count            int
	bus              *bus
}

func newConverter(s *Settings, at signal.Time, b *bus) converter {
	b.restart()
	b.convert(s.Converter.Voltage.word(s.Pack.Voltage), 0) // it has been awake for long when the rig begins
	return converter{settings: s.Converter, next: at + s.Converter.Period, bus: b}
}

// add adds one step.
func (c *converter) add(d *drive) {
	c.voltage += d.voltage
	if c.settings.Phase {
		c.current += math.Abs(d.current)
	} else {
		c.current += d.supply
	}
	c.count++
}

// convert ends a conversion.
func (c *converter) convert() {
	c.next += c.settings.Period
	n := float64(max(c.count, 1))
	c.bus.convert(c.settings.Voltage.word(c.voltage/n), c.settings.Current.word(c.current/n))
	c.voltage, c.current, c.count = 0, 0, 0
}

// word returns what the register has for x.
func (r *Register) word(x float64) uint16 {
	if r.Scale == 0 {
		return 0
	}
	n := math.Floor(x/r.Scale + 0.5)
	if r.Signed {
		return uint16(int16(min(max(n, math.MinInt16), math.MaxInt16)))
	}
	return uint16(min(max(n, 0), math.MaxUint16))
}

// bus is the I2C that the converter stands on. It is safe for concurrent use.
type bus struct {
	settings Converter

	mu        sync.Mutex
	words     [256]uint16
	writable  [256]bool
	registers [256]bool
	pointer   byte
}

// I2C returns the bus on which the converter of voltage and current stands. It answers with the
// conversion that was complete at the end of the last Run: the registers of [Converter], of 16 bits with
// the upper byte first, and 0, where what is written is read back. A transaction writes the number of a
// register, then either writes its word or reads as many words from it on as fit. Where nobody answers,
// it is an error. It may be used by other goroutines while the stand runs.
func (s *Stand) I2C() i2c.Bus { return s.bus }

var _ i2c.Bus = (*bus)(nil)

func newBus(c Converter) *bus {
	b := &bus{settings: c}
	b.registers[0], b.writable[0] = true, true
	for _, r := range []Register{c.Voltage, c.Current} {
		if r.Scale != 0 {
			b.registers[r.Number] = true
		}
	}
	return b
}

// restart is a power cycle.
func (b *bus) restart() {
	b.mu.Lock()
	defer b.mu.Unlock()
	b.words, b.pointer = [256]uint16{}, 0
}

func (b *bus) convert(voltage, current uint16) {
	b.mu.Lock()
	defer b.mu.Unlock()
	if b.settings.Voltage.Scale != 0 {
		b.words[b.settings.Voltage.Number] = voltage
	}
	if b.settings.Current.Scale != 0 {
		b.words[b.settings.Current.Number] = current
	}
}

// String names the bus.
func (b *bus) String() string { return "simulated stand" }

// SetSpeed takes any speed above 0.
func (b *bus) SetSpeed(f physic.Frequency) error {
	if f <= 0 {
		return fmt.Errorf("simulated stand: I2C at %v; it has to be above 0", f)
	}
	return nil
}

// Tx is one transaction.
func (b *bus) Tx(addr uint16, w, r []byte) error {
	b.mu.Lock()
	defer b.mu.Unlock()
	if b.settings.Absent || addr != b.settings.Address {
		return fmt.Errorf("simulated stand: nobody answers at I2C address %#x", addr)
	}
	if len(w) > 0 {
		b.pointer = w[0]
		if err := b.write(w[1:]); err != nil {
			return err
		}
	}
	for i := range r {
		n := b.pointer + byte(i/2)
		if !b.registers[n] {
			r[i] = 0xFF // nobody pulls the line down
			continue
		}
		r[i] = byte(b.words[n] >> (8 * (1 - i%2)))
	}
	return nil
}

// write takes the word of the register that the pointer is at.
func (b *bus) write(data []byte) error {
	switch {
	case len(data) == 0:
		return nil
	case len(data) != 2 || !b.writable[b.pointer]:
		return errors.New("simulated stand: the I2C converter takes a word of two bytes in register 0 alone")
	}
	b.words[b.pointer] = uint16(data[0])<<8 | uint16(data[1])
	return nil
}
