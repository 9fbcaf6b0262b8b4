package board

import (
	"fmt"

	"hilrig/rig/signal"
)

// BusInput says how the receiver's channels come on one serial line, 100 kbaud, 8
// data bits, even parity, 2 stop bits: 25 bytes, of which 22 are 16 channels of 11
// bits, the lowest first. The zero value: there is none.
type BusInput struct {
	Line                  string // its name
	Steer, Throttle, Gain BusChannel
}

// BusChannel says which channel a quantity has, and for which pulses its counts
// stand: the control program goes by pulses.
type BusChannel struct {
	Number              int // 1 to 16
	Low, High           int64
	LowPulse, HighPulse signal.Time
}

const (
	busBaud   = 100_000
	busBytes  = 25
	busStart  = 0x0F
	busGap    = 2 * signal.Millisecond // a longer rest comes before a frame
	frameLost = 1 << 2                 // flags
	linkLost  = 1 << 3
)

// check returns an error that names the first channel out of range.
func (b *BusInput) check() error {
	if b.Line == "" {
		return nil
	}
	for i, c := range []BusChannel{b.Steer, b.Throttle, b.Gain} {
		if c.Number < 1 || c.Number > 16 || c.Low == c.High {
			return fmt.Errorf("board settings: channel %d of the bus is number %d, counts %d to %d; it has to be 1 to 16, with two counts", i+1, c.Number, c.Low, c.High)
		}
	}
	return nil
}

// busParser finds frames and hands the channels on as pulses.
type busParser struct {
	cfg                   BusInput
	steer, throttle, gain *pulseInput
	buffer                [busBytes]byte
	n                     int
	last                  signal.Time
	keepsFlagged          bool        // frames with the failsafe flag are taken, their channels' last values kept
	takesFlagged          bool        // and with the values that they carry
	flag                  bool        // the last frame had it,
	flagSince, flagAt     signal.Time // since when, and when it came
}

// flagged reports whether frames have come with the failsafe flag for so long.
func (p *busParser) flagged(limit signal.Time) bool { return p.flag && p.flagAt-p.flagSince >= limit }

// parse takes in one byte, complete at the given time.
func (p *busParser) parse(b byte, at signal.Time) {
	if at-p.last > busGap {
		p.n = 0
	}
	p.last = at
	if p.n == 0 && b != busStart {
		return
	}
	p.buffer[p.n] = b
	if p.n++; p.n < busBytes {
		return
	}
	p.n = 0
	flags := p.buffer[busBytes-2]
	if flag := flags&linkLost != 0; p.keepsFlagged {
		if flag && !p.flag {
			p.flagSince = at
		}
		p.flag, p.flagAt = flag, at
		if flag && !p.takesFlagged {
			p.steer.refresh(at)
			p.throttle.refresh(at)
			p.gain.refresh(at)
			return
		}
		flags &^= linkLost
	}
	if flags&(frameLost|linkLost) != 0 {
		return
	}
	p.steer.accept(p.pulse(&p.cfg.Steer), at)
	p.throttle.accept(p.pulse(&p.cfg.Throttle), at)
	p.gain.accept(p.pulse(&p.cfg.Gain), at)
}

// pulse returns the pulse, in whole us, that a channel's count stands for.
func (p *busParser) pulse(c *BusChannel) int64 {
	first := (c.Number - 1) * 11
	count := int64(0)
	for i := range 11 {
		bit := first + i
		count |= int64(p.buffer[1+bit>>3]>>(bit&7)&1) << i
	}
	low, high := int64(c.LowPulse), int64(c.HighPulse)
	return (low + (count-c.Low)*(high-low)/(c.High-c.Low) + 500) / 1000
}

// restart forgets the bytes of a frame that was not whole.
func (p *busParser) restart() { p.n = 0 }

// powerUp forgets everything.
func (p *busParser) powerUp() {
	p.n, p.last = 0, 0
	p.flag, p.flagSince, p.flagAt = false, 0, 0
}
