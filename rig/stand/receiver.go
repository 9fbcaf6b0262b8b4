package stand

import (
	"math"

	"hilrig/rig/signal"
)

// receiver reads the throttle's line. Pulses are measured by a timer that captures their
// edges; a frame's bits are sampled at nine sixteenths of a bit after each rise.
type receiver struct {
	throttle Throttle
	bit      signal.Time // of a frame, ns, over 3; 0 for pulses
	level    bool        // true while the line is not at rest

	rise   signal.Time // of the pulse or bit under way
	fall   signal.Time
	word   uint32
	bits   int
	broken bool // the frame under way has a wrong bit

	heard   signal.Time // the last edge
	command float64     // of the last good pulse or frame
	at      signal.Time // when it ended
	fresh   bool        // it has not been looked at
}

// timer is the frequency of the timer that measures pulses, in MHz.
const timer = 64

func newReceiver(t Throttle, at signal.Time) receiver {
	r := receiver{throttle: t, at: at, heard: at, fall: at - signal.Second}
	switch t.Format {
	case DShot150:
		r.bit = 20_000
	case DShot300:
		r.bit = 10_000
	case DShot600:
		r.bit = 5_000
	}
	return r
}

// edge takes a change of the line.
func (r *receiver) edge(level bool, at signal.Time) {
	active := level != r.throttle.Inverted
	if active == r.level {
		return
	}
	r.level, r.heard = active, at
	switch {
	case r.bit == 0 && active:
		r.rise = at
	case r.bit == 0:
		r.pulse(at - r.rise)
	case active:
		r.begin(at)
	default:
		r.endBit(at)
	}
}

// pulse takes a pulse by its width.
func (r *receiver) pulse(width signal.Time) {
	r.fall = r.rise + width
	ticks := func(t signal.Time) float64 { return float64(t * timer / signal.Microsecond) }
	idle, full := ticks(r.throttle.Idle), ticks(r.throttle.Full)
	x := (ticks(width) - idle) / (full - idle)
	least := 0.0
	if r.throttle.WithNeutral {
		least = -1
	}
	// What lies a fifth of range beyond the ends is no command.
	if x < least-0.2 || x > 1.2 {
		return
	}
	r.accept(min(max(x, least), 1))
}

// accept takes a command that ended with the last fall.
func (r *receiver) accept(command float64) { r.command, r.at, r.fresh = command, r.fall, true }

// begin takes the beginning of a bit.
func (r *receiver) begin(at signal.Time) {
	since := 3 * (at - r.rise)
	switch {
	case 2*since > 3*r.bit: // no bit has come when one was due
		r.finish()
		r.word, r.bits, r.broken = 0, 0, false
	case 4*since < 3*r.bit:
		r.broken = true
	}
	r.rise = at
}

// endBit is the end of a bit.
func (r *receiver) endBit(at signal.Time) {
	r.fall = at
	long := 3 * (at - r.rise)
	r.word <<= 1
	if 16*long > 9*r.bit {
		r.word |= 1
	}
	if long >= r.bit || 8*long < r.bit {
		r.broken = true
	}
	r.bits++
}

// look has a frame end that is over by now.
func (r *receiver) look(at signal.Time) {
	if r.bits > 0 && !r.level && 2*3*(at-r.rise) > 3*r.bit {
		r.finish()
	}
}

// finish takes the bits that came as a frame.
func (r *receiver) finish() {
	word, whole := r.word, r.bits == 16 && !r.broken
	r.bits, r.word = 0, 0
	sum := word>>4 ^ word>>8 ^ word>>12
	if r.throttle.Inverted {
		sum = ^sum
	}
	if !whole || (sum^word)&0xF != 0 {
		return
	}
	switch value := int(word >> 5); {
	case value == 0:
		r.accept(0)
	case value >= 48:
		r.accept(r.share(value))
	}
}

// share returns the command of a frame's value of 48 or more.
func (r *receiver) share(value int) float64 {
	switch t := &r.throttle; {
	case !t.TwoDirection:
		return float64(value-48) / 1999
	case value < 1048:
		return sensed(float64(value-48)/999, t.ForwardLower)
	default:
		return sensed(float64(value-1048)/999, !t.ForwardLower)
	}
}

func sensed(x float64, ahead bool) float64 {
	if ahead || x == 0 {
		return math.Abs(x)
	}
	return -x
}
