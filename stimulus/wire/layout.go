package wire

import (
	"cmp"
	"errors"
	"fmt"
	"math"

	"hilrig/rig/signal"
)

// maxFrame is the longest frame that can be declared, in bytes before stuffing;
// maxRequest is the longest request.
const (
	maxFrame   = 1024
	maxRequest = 64
)

// leastDelay is the least time from a request to its reply.
const leastDelay = 10 * signal.Microsecond

// layOut works out the places of the fields of cfg and checks them.
func (e *FrameEncoder) layOut(cfg Frame, offset signal.Time) error {
	if e.noise == nil {
		return errors.New("frames have no source of noise; give one")
	}
	if err := cfg.asked(); err != nil {
		return err
	}
	if offset < 0 {
		return fmt.Errorf("frames begin at %v; begin at 0 s or later", offset)
	}
	if cfg.Sentence.Kind != NoSentence {
		return e.layOutSentence(cfg)
	}
	for i := range cfg.Fields {
		if err := e.addField(&cfg.Fields[i]); err != nil {
			return fmt.Errorf("field %d: %w", i+1, err)
		}
	}
	if e.size == 0 || e.size > maxFrame {
		return fmt.Errorf("frame of %d bytes; declare fields of 1 to %d bytes together", e.size, maxFrame)
	}
	for i := range e.checks {
		if err := e.bindCheck(i); err != nil {
			return err
		}
	}
	if cfg.FailsafeFlag != 0 && (cfg.FlagAt < 0 || cfg.FlagAt >= e.size) {
		return fmt.Errorf("the failsafe flag is in byte %d of %d; count from 0", cfg.FlagAt, e.size)
	}
	return cfg.Stuffing.check()
}

// asked returns what is wrong with when a frame is sent.
func (f *Frame) asked() error {
	switch {
	case len(f.Request) == 0 && f.Period <= 0:
		return fmt.Errorf("frame period %v; write a time above zero", f.Period)
	case len(f.Request) == 0:
		return nil
	case f.Period != 0:
		return fmt.Errorf("frame with a request and a period of %v; leave one of them out", f.Period)
	case len(f.Request) > maxRequest:
		return fmt.Errorf("request of %d bytes; write 1 to %d", len(f.Request), maxRequest)
	case f.Delay < leastDelay || f.Delay > signal.Second:
		return fmt.Errorf("a reply %v after its request; write 10 us to 1 s", f.Delay)
	}
	return nil
}

// addField gives f its place at the end of the frame.
func (e *FrameEncoder) addField(f *Field) error {
	p := part{Field: *f, at: e.size, size: 1}
	switch f.Kind {
	case Constant:
		if len(f.Bytes) == 0 {
			return errors.New("a constant has no bytes; write at least one")
		}
		e.fixed = append(e.fixed, f.Bytes...)
		e.size += len(f.Bytes)
		return nil
	case Integer, Float32, Float64, Sequence:
		p.size = f.bytes()
		if p.size < 1 || p.size > 8 {
			return fmt.Errorf("an integer of %d bytes; write 1 to 8", f.Size)
		}
		if err := e.carry(&p, 8*p.size); err != nil {
			return err
		}
	case Bits:
		var err error
		if p.size, err = e.addBits(f); err != nil {
			return err
		}
	case Sum8, Xor8, CRC8, CRC16:
		if err := p.check(); err != nil {
			return err
		}
		e.checks = append(e.checks, p)
	default:
		return fmt.Errorf("kind %d is none; write a constant, integer, sequence, sum8, xor8, crc8, crc16, float32, float64 or bits", f.Kind)
	}
	e.size += p.size
	for range p.size {
		e.fixed = append(e.fixed, 0)
	}
	return nil
}

// bytes returns how many bytes a field that is not a check takes.
func (f *Field) bytes() int {
	switch f.Kind {
	case Float32:
		return 4
	case Float64:
		return 8
	}
	return f.Size
}

// carry adds a part that changes from frame to frame, with the channel that it
// carries.
func (e *FrameEncoder) carry(p *part, bits int) error {
	if p.Kind.Carries() {
		if err := p.measure(bits); err != nil {
			return err
		}
		if p.Channel == "heading" {
			p.comeRound()
		}
		e.channels = append(e.channels, p.Channel)
	}
	e.counts = e.counts || p.Kind == Sequence
	e.parts = append(e.parts, *p)
	return nil
}

// addBits gives the parts of f their places, and returns the bytes that they fill.
func (e *FrameEncoder) addBits(f *Field) (size int, err error) {
	at := 8 * e.size
	for i := range f.Parts {
		one := &f.Parts[i]
		if one.Width < 1 || one.Width > 64 {
			return 0, fmt.Errorf("part %d: %d bits; write 1 to 64", i+1, one.Width)
		}
		p := part{Field: *one, at: at, size: one.Width, packed: true}
		p.LowFirst = f.LowFirst
		switch one.Kind {
		case Constant:
			if one.Width < 64 && one.Value>>one.Width != 0 {
				return 0, fmt.Errorf("part %d: %d does not fit %d bits", i+1, one.Value, one.Width)
			}
			e.constants = append(e.constants, constant{p, one.Value})
		case Integer, Sequence:
			if err := e.carry(&p, one.Width); err != nil {
				return 0, fmt.Errorf("part %d: %w", i+1, err)
			}
		default:
			return 0, fmt.Errorf("part %d: kind %d cannot be packed; use a constant, an integer or a sequence", i+1, one.Kind)
		}
		at += one.Width
	}
	width := at - 8*e.size
	if width == 0 || width%8 != 0 || width > 8*maxFrame {
		return 0, fmt.Errorf("parts of %d bits together; add a constant so that they fill whole bytes", width)
	}
	return width / 8, nil
}

// measure fills in how a field of that many bits turns a value to a number.
func (p *part) measure(bits int) error {
	f, scale := &p.Field, p.Scale
	if scale == 0 && f.Kind != Integer {
		scale = 1
	}
	switch {
	case f.Channel == "":
		return errors.New("an integer has no channel; name one, such as yaw_rate")
	case scale == 0 || !finite(scale) || !finite(1/scale):
		return fmt.Errorf("scale %g of %s; write a finite number that is not 0", f.Scale, f.Channel)
	case !finite(f.Offset):
		return fmt.Errorf("offset %g of %s; write a finite number", f.Offset, f.Channel)
	case !finite(f.Noise) || f.Noise < 0:
		return fmt.Errorf("noise %g of %s; write 0 or more", f.Noise, f.Channel)
	case f.Kind != Integer && f.Noise == 0 && !f.Exact:
		return fmt.Errorf("the float of %s has no noise, and no least bit to stand for it; write the sensor's noise", f.Channel)
	}
	p.Scale = scale
	switch f.Kind {
	case Float32:
		p.low, p.high = -math.MaxFloat32, math.MaxFloat32
	case Float64:
		p.low, p.high = -math.MaxFloat64, math.MaxFloat64
	default:
		p.Noise = max(f.Noise, scale, -scale)
		p.low, p.high = integerRange(bits, f.Signed)
	}
	if f.Min == 0 && f.Max == 0 {
		return nil
	}
	if !(f.Min < f.Max) || !finite(f.Max-f.Min) {
		return fmt.Errorf("range %g to %g of %s; write the lower end first", f.Min, f.Max, f.Channel)
	}
	p.limit(f.Min, f.Max)
	if p.low > p.high {
		return fmt.Errorf("no integer of %d bits stands for a value from %g to %g of %s; mend scale, offset or range", bits, f.Min, f.Max, f.Channel)
	}
	return nil
}

// check fills in a check field.
func (p *part) check() error {
	switch f := &p.Field; f.Kind {
	case CRC8:
		if f.Poly == 0 || f.Poly > 0xFF || f.Init > 0xFF || f.XorOut > 0xFF {
			return fmt.Errorf("crc8 with polynomial 0x%X, init 0x%X, xor 0x%X; write a polynomial of 0x01 to 0xFF, the others up to 0xFF", f.Poly, f.Init, f.XorOut)
		}
		p.crc = NewCRC8(byte(f.Poly), byte(f.Init), byte(f.XorOut), f.Reflected)
	case CRC16:
		if f.Poly == 0 {
			return errors.New("crc16 has no polynomial; write one, such as 0x1021")
		}
		p.size = 2
		p.crc = NewCRC16(f.Poly, f.Init, f.XorOut, f.Reflected)
	}
	return nil
}

// bindCheck works out what check i covers, once all places are known.
func (e *FrameEncoder) bindCheck(i int) error {
	p := &e.checks[i]
	p.To = cmp.Or(p.To, p.at)
	if p.From < 0 || p.To > e.size || p.From >= p.To {
		return fmt.Errorf("the check at byte %d covers bytes %d to %d of %d; write where it begins and ends within the frame", p.at, p.From, p.To, e.size)
	}
	for j := i; j < len(e.checks); j++ { // checks are worked out in order
		o := &e.checks[j]
		if p.From < o.at+o.size && o.at < p.To {
			return fmt.Errorf("the check at byte %d covers the check at byte %d, which is not known before it; cover bytes before or after", p.at, o.at)
		}
	}
	return nil
}
