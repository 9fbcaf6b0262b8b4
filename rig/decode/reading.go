package decode

import (
	"math"

	"hilrig/rig/signal"
)

// Reading is what one pulse or frame of a motor line may have asked of its motor, as far
// as the stamps of its edges tell. It is given of each, whatever else a decoder makes of
// it: of one that is uncertain, overlong or short too, which a trace lists without a value.
//
// Two things give none, as no motor turns by them: a spike, which is certainly shorter than
// a tenth of the shortest pulse of the format, and a burst of fewer than half the bits of
// a frame (common practice, no source).
type Reading struct {
	At signal.Time // when it was known to have ended
	// Least is the least magnitude of the command, either way, a share of full
	// command from 0 on. It is 0 where the stamps leave open that the motor was asked
	// to stand still, or not asked at all, as by a frame with a wrong checksum.
	Least float64
	// Measured says that it was a command that could be measured, one to stop included.
	Measured bool
}

// spikeShare is which part of the shortest pulse a spike is shorter than.
const spikeShare = 10

// read has see called with what the pulse was that ends with an edge, certainly as wide as
// sure without a gap.
func (d *ServoDecoder) read(fall signal.Edge, sure signal.Time, measured bool) {
	least := fall.At - d.rise.At - signal.Time(fall.Uncertainty)
	most := fall.At - d.rise.At + signal.Time(d.rise.Uncertainty)
	if most < d.cfg.Least/spikeShare {
		return
	}
	r := Reading{At: fall.At, Measured: measured}
	if d.open { // it may have been several, one of them as wide as sure or wider
		r.Least = max(0, float64(sure-d.cfg.Idle)/math.Abs(d.span))
	} else if a, b := d.value(float64(least)), d.value(float64(most)); a > 0 == (b > 0) {
		r.Least = min(math.Abs(a), math.Abs(b))
	}
	d.see(r)
}

// read has see called with what a frame was.
func (d *DShotDecoder) read(f *dshotFrame, at signal.Time, measured bool) {
	if f.bits < frameBits/2 && !f.lost {
		return
	}
	r := Reading{At: at, Measured: measured}
	switch {
	case f.lost && f.sure:
		free := frameBits - f.leads.count
		r.Least = d.cfg.least(f.leads.word<<free, f.leads.either<<free|(1<<free-1), free == 0)
	case !f.lost && !f.wrong && f.bits == frameBits:
		r.Least = d.cfg.least(f.word, f.either, true)
	}
	d.see(r)
}

// least returns the least magnitude of what a frame may say whose bits in either are not
// known, 0 where it can say nothing. Where the checksum counts, a frame in which it is
// wrong says nothing.
func (c DShot) least(word, either uint32, checked bool) float64 {
	least := math.Inf(1)
	open := either >> 4
	for guess := open; ; guess = (guess - 1) & open {
		top := word>>4&^open | guess
		if !checked || (checksum(top<<4, c.Inverted)^word)&0xF&^either == 0 {
			least = min(least, c.magnitude(int(top>>1)))
		}
		if guess == 0 {
			break
		}
	}
	if math.IsInf(least, 1) {
		return 0
	}
	return least
}

// magnitude returns how much of full command a value asks for, either way.
func (c DShot) magnitude(value int) float64 {
	if value < leastValue {
		return 0
	}
	return math.Abs(c.command(value))
}
