package wire

import (
	"errors"
	"fmt"

	"hilrig/rig/signal"
)

// maxFrame is the longest frame that can be declared, in bytes.
const maxFrame = 1024

// layOut works out the places of the fields of cfg and checks them.
func (e *FrameEncoder) layOut(cfg Frame, offset signal.Time) error {
	if e.noise == nil {
		return errors.New("frames have no source of noise; give one")
	}
	if cfg.Period <= 0 {
		return fmt.Errorf("frame period %v; write a time above zero", cfg.Period)
	}
	if offset < 0 {
		return fmt.Errorf("frames begin at %v; begin at 0 s or later", offset)
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
	return nil
}

// addField gives f its place at the end of the frame.
func (e *FrameEncoder) addField(f *Field) error {
	p := part{kind: f.Kind, at: e.size, size: 1, littleEndian: f.LittleEndian}
	switch f.Kind {
	case Constant:
		if len(f.Bytes) == 0 {
			return errors.New("a constant has no bytes; write at least one")
		}
		e.fixed = append(e.fixed, f.Bytes...)
		e.size += len(f.Bytes)
		return nil
	case Integer, Sequence:
		if f.Size < 1 || f.Size > 8 {
			return fmt.Errorf("an integer of %d bytes; write 1 to 8", f.Size)
		}
		p.size = f.Size
		if f.Kind == Integer {
			if err := p.measure(f); err != nil {
				return err
			}
			e.channels = append(e.channels, f.Channel)
		}
		e.parts = append(e.parts, p)
	case Sum8, Xor8, CRC8, CRC16:
		if err := p.check(f); err != nil {
			return err
		}
		e.checks = append(e.checks, p)
	default:
		return fmt.Errorf("kind %d is none; write a constant, integer, sequence, sum8, xor8, crc8 or crc16", f.Kind)
	}
	e.size += p.size
	for range p.size {
		e.fixed = append(e.fixed, 0)
	}
	return nil
}

// measure fills in how an Integer field turns a value to an integer.
func (p *part) measure(f *Field) error {
	switch {
	case f.Channel == "":
		return errors.New("an integer has no channel; name one, such as yaw_rate")
	case f.Scale == 0 || !finite(f.Scale) || !finite(1/f.Scale):
		return fmt.Errorf("scale %g of %s; write a finite number that is not 0", f.Scale, f.Channel)
	case !finite(f.Offset):
		return fmt.Errorf("offset %g of %s; write a finite number", f.Offset, f.Channel)
	case !finite(f.Noise) || f.Noise < 0:
		return fmt.Errorf("noise %g of %s; write 0 or more", f.Noise, f.Channel)
	}
	p.signed, p.scale, p.offset = f.Signed, f.Scale, f.Offset
	p.noise = max(f.Noise, f.Scale, -f.Scale)
	p.low, p.high = integerRange(f.Size, f.Signed)
	if f.Min == 0 && f.Max == 0 {
		return nil
	}
	if !(f.Min < f.Max) || !finite(f.Max-f.Min) {
		return fmt.Errorf("range %g to %g of %s; write the lower end first", f.Min, f.Max, f.Channel)
	}
	p.limit(f.Min, f.Max)
	if p.low > p.high {
		return fmt.Errorf("no integer of %d bytes stands for a value from %g to %g of %s; mend scale, offset or range", f.Size, f.Min, f.Max, f.Channel)
	}
	return nil
}

// check fills in a check field.
func (p *part) check(f *Field) error {
	p.from, p.to = f.From, f.To
	switch f.Kind {
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
	if p.to == 0 {
		p.to = p.at
	}
	if p.from < 0 || p.to > e.size || p.from >= p.to {
		return fmt.Errorf("the check at byte %d covers bytes %d to %d of %d; write where it begins and ends within the frame", p.at, p.from, p.to, e.size)
	}
	for j := i; j < len(e.checks); j++ { // checks are worked out in order
		o := &e.checks[j]
		if p.from < o.at+o.size && o.at < p.to {
			return fmt.Errorf("the check at byte %d covers the check at byte %d, which is not known before it; cover bytes before or after", p.at, o.at)
		}
	}
	return nil
}
