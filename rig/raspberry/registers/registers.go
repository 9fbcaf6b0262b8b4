package registers

import (
	"sync/atomic"

	"hilrig/rig/raspberry/pinout"
)

// Registers is the lines of a Pi 3 or 4, reached through the chip's GPIO registers,
// which are mapped into the program: a [PinBank] for the loop, [Lines] for what is slow.
// The methods of Bank may be called beside those of Lines.
//
// Each register has a pointer of its own and is read and written by sync/atomic
// alone. Of plain accesses the compiler merges two reads of one register and drops
// a write that another follows. Through a pointer to a struct or an array, it first
// reads the first byte there, to see whether the pointer is nil, which takes as
// long as the read that is wanted. Atomic And and Or will not do: they may use the
// processor's exclusive access, which device memory need not support.
//
// How strong the outputs drive is left as the firmware has set it (8 mA on a Pi 3,
// 4 mA on a Pi 4): those registers are not among the ones that a user may map.
type Registers struct {
	set, clear, level *uint32 // GPSET0, GPCLR0, GPLEV0

	function [4]*uint32 // GPFSEL0 to 3: ten lines each, three bits a line

	pullCode, pullClock *uint32    // GPPUD, GPPUDCLK0; nil on a Pi 4
	pull                [2]*uint32 // GPIO_PUP_PDN_CNTRL_REG0 and 1: sixteen lines each, two bits a line; nil on a Pi 3

	settle func() // waits until a pull has settled
	closed bool
}

// The registers' offsets, in words. Sources: Broadcom, "BCM2835 ARM Peripherals",
// 2012, section 6.1; for the pulls of the later chip "BCM2711 ARM Peripherals", section
// 5.2. Read in periph.io/x/host, bcm283x/gpio.go, which cites both.
const (
	wordFunction  = 0
	wordSet       = 0x1c / 4
	wordClear     = 0x28 / 4
	wordLevel     = 0x34 / 4
	wordPullCode  = 0x94 / 4
	wordPullClock = 0x98 / 4
	wordPull      = 0xe4 / 4

	wordsNeeded = 0xf4 / 4
)

// newRegisters returns the registers that begin at words[0], of a Pi 3 or 4. There are
// at least wordsNeeded.
func newRegisters(words []uint32, model pinout.Model) *Registers {
	r := &Registers{set: &words[wordSet], clear: &words[wordClear], level: &words[wordLevel], settle: settle}
	for i := range r.function {
		r.function[i] = &words[wordFunction+i]
	}
	if model == pinout.Pi3 {
		r.pullCode, r.pullClock = &words[wordPullCode], &words[wordPullClock]
	} else {
		r.pull = [2]*uint32{&words[wordPull], &words[wordPull+1]}
	}
	return r
}

// Set makes the outputs of mask high and leaves the others.
//
//go:nosplit
func (r *Registers) Set(mask uint32) { atomic.StoreUint32(r.set, mask) }

// Clear makes the outputs of mask low and leaves the others.
//
//go:nosplit
func (r *Registers) Clear(mask uint32) { atomic.StoreUint32(r.clear, mask) }

// Level reads all lines, inputs and outputs alike.
//
//go:nosplit
func (r *Registers) Level() uint32 { return atomic.LoadUint32(r.level) }
