package decode

import (
	"cmp"
	"fmt"

	"hilrig/rig/signal"
)

// DShot declares a motor command sent as a digital frame: 16 bits, most
// significant first, each a pulse of three eighths of a bit time for 0 and of six
// eighths for 1. They are eleven bits of value, one that asks for telemetry,
// and a checksum of four. The values 48 to 2047 are throttle, 0 stops the motor and 1 to 47
// are commands to the speed controller.
type DShot struct {
	Rate int // kbit/s: 150, 300 or 600
	// TwoDirection says that 48 to 1047 are one sense of rotation and 1048 to 2047
	// the other, each from standstill to full.
	TwoDirection bool
	ForwardLower bool // with TwoDirection, that 48 to 1047 are ahead
	// Inverted says that the line rests high and that the checksum is inverted, as
	// where the speed controller answers on the same line. Its answers are not read.
	Inverted   bool
	StopIsIdle bool // a value of 0 is also the command 0
	// Tolerance is how far the times of a bit may be from their nominal ones, the bit's own and
	// those of both pulses, as a share of a bit time: up to 0.1; 0 means 0.1.
	Tolerance float64
	LostAfter signal.Time // no frame for this long is Lost; 0 means 100 ms
}

// The values of a frame.
const (
	frameBits   = 16
	leastValue  = 48   // of throttle
	middleValue = 1048 // the first of the upper sense
	mostValue   = 2047
)

// CommandStep returns the difference of command between two values that follow each other.
func (c DShot) CommandStep() float64 {
	if c.TwoDirection {
		return 1.0 / (mostValue - middleValue)
	}
	return 1.0 / (mostValue - leastValue)
}

// command returns what a value of 48 or more stands for.
func (c DShot) command(value int) float64 {
	if !c.TwoDirection {
		return float64(value-leastValue) / (mostValue - leastValue)
	}
	upper := value >= middleValue
	share := float64(value-leastValue) / (middleValue - 1 - leastValue)
	if upper {
		share = float64(value-middleValue) / (mostValue - middleValue)
	}
	if upper == c.ForwardLower && share != 0 {
		share = -share
	}
	return share
}

// check returns what is wrong with c, whose defaults are filled in.
func (c DShot) check() error {
	switch c.Rate {
	case 150, 300, 600:
	default:
		return fmt.Errorf("a digital command at %d kbit/s; 150, 300 and 600 are possible", c.Rate)
	}
	if !(c.Tolerance >= leastTolerance && c.Tolerance <= mostTolerance) {
		return fmt.Errorf("times of a bit within %g of it; write a share of %g to %g", c.Tolerance, leastTolerance, mostTolerance)
	}
	if c.LostAfter < signal.Millisecond {
		return fmt.Errorf("a loss after %v is not longer than a frame; write 1 ms or more", c.LostAfter)
	}
	return nil
}

// The tolerances that can be declared. A tenth of a bit keeps the two pulses apart, and takes in
// what is sent by coarse timers: pulses of 7 and 14 of 19 ticks (Carbon225/pico-dshot,
// include/dshot/timings.h), of a third and two thirds of a bit, of 40 and 80 % (READ in sources of
// firmware).
const (
	leastTolerance = 0.005
	mostTolerance  = 0.1
)

// Fineness returns how uncertain stamps may be, by the turn of a loop and its read of the line together, for
// some nineteen in twenty frames to be read: beyond it two bits of a frame are often open, or a level
// goes by between two reads. A quarter beyond it some six in ten are read. Rate is set.
func (c DShot) Fineness() signal.Time {
	off := cmp.Or(c.Tolerance, mostTolerance)
	apart := 0.375 - off - off // of the longest 0 and the shortest 1
	return signal.Time(min(apart, 0.25) * 1e6 / float64(c.Rate))
}

// dshotTiming is what a board may do with the times of a bit, in ns.
type dshotTiming struct {
	zeroLeast, zeroMost signal.Time // pulse of a 0
	oneLeast, oneMost   signal.Time // pulse of a 1
	bitLeast, bitMost   signal.Time // from pulse to pulse
	twoBits             signal.Time // from here on a pulse in between may be missing
	quiet               signal.Time // at rest for this long after a pulse: the frame is over
	hidden              signal.Time // an edge as late as this may hide a level of the frame
	offGrid             signal.Time // a rising edge may be off the frame's grid by this much
}

// newDShotTiming returns the times at a rate, in kbit/s, each off by the share off of a bit at most.
// Rising edges are a timer's: off a grid by a tenth of that at most (common practice, no source).
func newDShotTiming(rate int, off float64) dshotTiming {
	bit := func(share float64) signal.Time { return signal.Time(share * 1e6 / float64(rate)) }
	return dshotTiming{
		zeroLeast: bit(0.375 - off), zeroMost: bit(0.375 + off),
		oneLeast: bit(0.75 - off), oneMost: bit(0.75 + off),
		bitLeast: bit(1 - off), bitMost: bit(1 + off), twoBits: bit(2 * (1 - off)),
		quiet: bit(1.25), hidden: bit(0.25 - off), offGrid: max(bit(off/10), 1),
	}
}

// may says which bits a pulse may be that is at least and at most so wide.
func (t *dshotTiming) may(least, most signal.Time) (zero, one bool) {
	return least <= t.zeroMost && most >= t.zeroLeast, least <= t.oneMost && most >= t.oneLeast
}

// sound says whether a frame has the right checksum.
func sound(word uint32, inverted bool) bool { return word&0xF == checksum(word, inverted) }

// checksum returns the checksum of the twelve upper bits of a frame.
func checksum(word uint32, inverted bool) uint32 {
	v := word >> 4
	sum := (v ^ v>>4 ^ v>>8) & 0xF
	if inverted {
		sum ^= 0xF
	}
	return sum
}
