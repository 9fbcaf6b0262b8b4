package registers

import (
	"errors"
	"fmt"
	"sync/atomic"
	"time"

	"hilrig/rig/raspberry/hostlines"
	"hilrig/rig/raspberry/pinout"
)

var errRegistersClosed = errors.New("registers: closed; open them anew")

// What a line can be used for, as GPFSELn counts it ("BCM2835 ARM Peripherals",
// table 6-2). The other codes hand the line to a peripheral.
const (
	functionInput  = 0
	functionOutput = 1
)

// alternates are the peripherals' codes, by the datasheet's number of the function.
var alternates = [8]string{2: "5", 3: "4", 4: "0", 5: "1", 6: "2", 7: "3"}

// Output makes a line of the header an output at level. The level is written
// first, so that the line begins at it.
//
// Ten lines share a register of functions. Two programs that change functions at the
// same moment may undo each other's change, and so may a driver of the kernel:
// what a bench needs is set up before anything else runs.
func (r *Registers) Output(gpio int, level bool) error {
	if err := r.mayChange(gpio); err != nil {
		return err
	}
	r.put(gpio, level)
	return r.setFunction(gpio, functionOutput)
}

// Input makes a line of the header an input, then sets its pull. The pull stays
// when the program ends.
func (r *Registers) Input(gpio int, pull hostlines.Pull) error {
	if err := r.mayChange(gpio); err != nil {
		return err
	}
	if pull > hostlines.PullUp {
		return fmt.Errorf("registers: pull %d of %s; give PullNone, hostlines.PullDown or hostlines.PullUp", pull, pinout.GPIO(gpio))
	}
	if err := r.setFunction(gpio, functionInput); err != nil {
		return err
	}
	if r.pullCode != nil {
		r.strobePull(gpio, pull)
		return nil
	}
	// 0: none, 1: up, 2: down ("BCM2711 ARM Peripherals", section 5.2).
	code := [3]uint32{hostlines.PullNone: 0, hostlines.PullUp: 1, hostlines.PullDown: 2}[pull]
	setField(r.pull[gpio/16], 3, code, 2*(gpio%16))
	return nil
}

// strobePull sets a pull on a Pi 3: the code, then the clock of the line, with 150 cycles
// of the chip's clock before and after ("BCM2835 ARM Peripherals", page 101).
func (r *Registers) strobePull(gpio int, pull hostlines.Pull) {
	// 0: none, 1: down, 2: up.
	atomic.StoreUint32(r.pullCode, [3]uint32{hostlines.PullNone: 0, hostlines.PullDown: 1, hostlines.PullUp: 2}[pull])
	r.settle()
	atomic.StoreUint32(r.pullClock, 1<<gpio)
	r.settle()
	atomic.StoreUint32(r.pullCode, 0)
	atomic.StoreUint32(r.pullClock, 0)
}

// settle waits for 150 cycles and more, of a clock that is 250 MHz or faster.
func settle() { time.Sleep(10 * time.Microsecond) }

// Write changes the level of an output.
func (r *Registers) Write(gpio int, level bool) error {
	if err := r.mayChange(gpio); err != nil {
		return err
	}
	if r.functionOf(gpio) != functionOutput {
		return fmt.Errorf("registers: %s is no output; make it one first", pinout.GPIO(gpio))
	}
	r.put(gpio, level)
	return nil
}

// Read reads a line, which stays what it is, whatever uses it.
func (r *Registers) Read(gpio int) (bool, error) {
	if err := r.onHeader(gpio); err != nil {
		return false, err
	}
	return r.Level()>>gpio&1 != 0, nil
}

// Close gives the lines back: from now on the methods of Lines fail. Lines keep
// their functions and levels until somebody changes them, after the program has
// ended too. The mapping lasts as long as the program, so that a loop which still
// runs does no harm.
func (r *Registers) Close() error {
	r.closed = true
	return nil
}

// onHeader refuses lines that are not on the header: those have other uses on the Pi's
// board.
func (r *Registers) onHeader(gpio int) error {
	if r.closed {
		return errRegistersClosed
	}
	if pinout.Position(gpio) == 0 {
		return fmt.Errorf("registers: GPIO%d is not on the header; use one of GPIO0 to GPIO27", gpio)
	}
	return nil
}

// mayChange refuses lines that a peripheral has, too: whoever switched it on would
// not know that the line is gone.
func (r *Registers) mayChange(gpio int) error {
	if err := r.onHeader(gpio); err != nil {
		return err
	}
	if f := r.functionOf(gpio); f > functionOutput {
		return fmt.Errorf("registers: %s belongs to a peripheral of the chip (alternate function %s); switch that off in config.txt, or wire another line", pinout.GPIO(gpio), alternates[f])
	}
	return nil
}

// put changes the level that a line has, or will have, as an output.
func (r *Registers) put(gpio int, level bool) {
	if level {
		r.Set(1 << gpio)
	} else {
		r.Clear(1 << gpio)
	}
}

// functionOf returns what a line is used for, 0 to 7.
func (r *Registers) functionOf(gpio int) uint32 {
	return atomic.LoadUint32(r.function[gpio/10]) >> (3 * (gpio % 10)) & 7
}

// setFunction fails where the line is used for something else right afterwards.
func (r *Registers) setFunction(gpio int, function uint32) error {
	setField(r.function[gpio/10], 7, function, 3*(gpio%10))
	if f := r.functionOf(gpio); f != function {
		return fmt.Errorf("registers: %s did not take on function %d and has %d; see whether another program uses the pins", pinout.GPIO(gpio), function, f)
	}
	return nil
}

// setField changes a field of a register, mask wide and shift bits up, where it has
// another value.
func setField(register *uint32, mask, value uint32, shift int) {
	old := atomic.LoadUint32(register)
	if changed := old&^(mask<<shift) | value<<shift; changed != old {
		atomic.StoreUint32(register, changed)
	}
}
