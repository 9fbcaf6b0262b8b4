package board

import (
	"fmt"
	"math"
	"slices"

	"hilrig/rig/signal"
)

// Format is how the motor commands are sent.
type Format string

// The formats.
const (
	ServoPulse Format = "servo_pulse" // a pulse in steps of 1 us; the empty word means this
	OneShot125 Format = "oneshot125"  // a pulse in steps of an eighth of that
	DShot150   Format = "dshot150"    // frames of 16 bits at 150 kbit/s
	DShot300   Format = "dshot300"
	DShot600   Format = "dshot600"
)

// Output says how the motor commands are sent. The zero value stands for servo
// pulses.
type Output struct {
	Format Format
	// TwoDirection says that frames have 48 to 1047 for one sense of rotation and
	// 1048 to 2047 for the other.
	TwoDirection bool
	// StopAtIdle says that the command 0 is sent as the frame's value 0, motor stop,
	// and not as the least throttle.
	StopAtIdle bool
	Wheel      [4]WheelOutput // in the order front left, front right, rear left, rear right
}

// WheelOutput is what may differ from motor to motor. Whether a line rests high is
// its layout's matter.
type WheelOutput struct {
	Inverted     bool        // a frame's checksum is inverted
	ForwardLower bool        // with TwoDirection, 48 to 1047 drive ahead
	Idle, Full   signal.Time // widths of the commands 0 and 1 on the wire; 0 means MotorIdle and MotorFull
}

// digital returns the length of 16 bits in ns, over 3; 0 for pulses.
func (f Format) digital() int64 {
	switch f {
	case DShot150:
		return 320_000
	case DShot300:
		return 160_000
	case DShot600:
		return 80_000
	}
	return 0
}

// unit is the step of the timer that makes the pulses.
func (f Format) unit() signal.Time {
	if f == OneShot125 {
		return 125 * signal.Nanosecond
	}
	return signal.Microsecond
}

// longest returns how long a command may take on the wire.
func (o *Output) longest(idle, full signal.Time) signal.Time {
	if d := o.Format.digital(); d > 0 {
		return signal.Time(d / 3)
	}
	longest := max(idle, full)
	for _, w := range o.Wheel {
		longest = max(longest, w.Idle, w.Full)
	}
	return longest
}

// check returns an error where the format is unknown or a wheel has half a range.
func (o *Output) check() error {
	known := []Format{ServoPulse, OneShot125, DShot150, DShot300, DShot600}
	if o.Format != "" && !slices.Contains(known, o.Format) {
		return fmt.Errorf("board settings: Output.Format is %q; use one of %q", o.Format, known)
	}
	for i, w := range o.Wheel {
		if (w.Idle == 0) != (w.Full == 0) || w.Idle < 0 || w.Full < 0 || max(w.Idle, w.Full) > 10*signal.Millisecond {
			return fmt.Errorf("board settings: Output.Wheel[%d] has idle %v and full %v; give both, up to 0.01 s, or neither", i, w.Idle, w.Full)
		}
	}
	return nil
}

// sender turns commands to waves.
type sender struct {
	output     Output
	idle, full signal.Time // of pulses, where a wheel has none of its own
	coarse     bool        // seeded fault: in steps of 2 % of range
}

// waves returns what is sent for these commands, shares of range.
func (s *sender) waves(command [4]float64) (waves [4]wave) {
	for m := range waves {
		if s.output.Format.digital() > 0 {
			waves[m] = s.frame(m, command[m])
		} else {
			waves[m] = s.pulse(m, command[m])
		}
	}
	return waves
}

// pulse returns a pulse of whole timer steps.
func (s *sender) pulse(m int, command float64) wave {
	unit, w := s.output.Format.unit(), &s.output.Wheel[m]
	idle, full := int64(s.idle/unit), int64(s.full/unit)
	if w.Idle != 0 {
		idle, full = int64(w.Idle/unit), int64(w.Full/unit)
	}
	steps := idle + rounded(float64(command*float64(full-idle)))
	if s.coarse {
		steps -= steps % 20
	}
	return wave{bits: 1, high: signal.Time(max(steps, 0)) * unit}
}

// rounded returns the whole number nearest to x.
func rounded(x float64) int64 {
	if x < 0 {
		return -int64(0.5 - x)
	}
	return int64(x + 0.5)
}

// frame returns a frame: eleven bits of value, no telemetry, and the checksum.
func (s *sender) frame(m int, command float64) wave {
	w := &s.output.Wheel[m]
	value := s.value(w, command)
	word := value << 1
	sum := word ^ word>>4 ^ word>>8
	if w.Inverted {
		sum = ^sum
	}
	return wave{bits: 16, word: uint16(word<<4 | sum&0xF), sixteen: s.output.Format.digital()}
}

// value returns a frame's value.
func (s *sender) value(w *WheelOutput, command float64) uint32 {
	if command == 0 && s.output.StopAtIdle {
		return 0
	}
	first, steps := int64(48), int64(1999)
	if s.output.TwoDirection {
		steps = 999
		if (command >= 0) != w.ForwardLower {
			first = 1048
		}
		command = math.Abs(command)
	}
	n := min(max(rounded(float64(command*float64(steps))), 0), steps)
	if s.coarse {
		n -= n % (steps / 50)
	}
	return uint32(first + n)
}
