package decode

import (
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
	StopIsIdle bool        // a value of 0 is also the command 0
	LostAfter  signal.Time // no frame for this long is Lost; 0 means 100 ms
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
	if c.LostAfter < signal.Millisecond {
		return fmt.Errorf("a loss after %v is not longer than a frame; write 1 ms or more", c.LostAfter)
	}
	return nil
}

// dshotTiming is what a board may do with the times of a bit, in ns. A pulse may be
// off by a tenth of a bit time and a bit by a tenth of itself, which keeps the two
// pulses apart and takes in the coarse timers of real firmware (common practice, no
// source).
type dshotTiming struct {
	zeroLeast, zeroMost signal.Time // pulse of a 0
	oneLeast, oneMost   signal.Time // pulse of a 1
	bitLeast, bitMost   signal.Time // from pulse to pulse
	twoBits             signal.Time // from here on a pulse in between may be missing
	quiet               signal.Time // at rest for this long after a pulse: the frame is over
	hidden              signal.Time // an edge as late as this may hide a level of the frame
}

func newDShotTiming(rate int) dshotTiming {
	bit := func(share float64) signal.Time { return signal.Time(share * 1e6 / float64(rate)) }
	return dshotTiming{
		zeroLeast: bit(0.375 - 0.1), zeroMost: bit(0.375 + 0.1),
		oneLeast: bit(0.75 - 0.1), oneMost: bit(0.75 + 0.1),
		bitLeast: bit(0.9), bitMost: bit(1.1), twoBits: bit(1.8),
		quiet: bit(1.25), hidden: bit(0.15),
	}
}

// checksum returns the checksum of the twelve upper bits of a frame.
func checksum(word uint32, inverted bool) uint32 {
	v := word >> 4
	sum := (v ^ v>>4 ^ v>>8) & 0xF
	if inverted {
		sum ^= 0xF
	}
	return sum
}
