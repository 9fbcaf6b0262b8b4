package wire

import "math/bits"

// CRC is a cyclic redundancy check of 8 or 16 bits, worked by table. The zero
// value is not usable; make one with [NewCRC8] or [NewCRC16].
type CRC struct {
	table     [256]uint16
	width     int
	init      uint16
	xorOut    uint16
	reflected bool
}

// NewCRC8 returns the 8-bit check with that polynomial (its top bit left out, most
// significant bit first even where the check is reflected), initial value and final xor;
// reflected says that input and output are.
func NewCRC8(poly, init, xorOut byte, reflected bool) *CRC {
	return newCRC(8, uint16(poly), uint16(init), uint16(xorOut), reflected)
}

// NewCRC16 returns the 16-bit check with those parameters; see [NewCRC8].
func NewCRC16(poly, init, xorOut uint16, reflected bool) *CRC {
	return newCRC(16, poly, init, xorOut, reflected)
}

func newCRC(width int, poly, init, xorOut uint16, reflected bool) *CRC {
	c := &CRC{width: width, init: init, xorOut: xorOut, reflected: reflected}
	if reflected {
		c.init = bits.Reverse16(init) >> (16 - width)
		poly = bits.Reverse16(poly) >> (16 - width)
	}
	for i := range c.table {
		r := uint16(i)
		if !reflected {
			r <<= width - 8
		}
		for range 8 {
			r = c.shift(r, poly)
		}
		c.table[i] = r
	}
	return c
}

// shift moves register r on by one bit.
func (c *CRC) shift(r, poly uint16) uint16 {
	if c.reflected {
		if r&1 != 0 {
			return r>>1 ^ poly
		}
		return r >> 1
	}
	top := uint16(1) << (c.width - 1)
	mask := top<<1 - 1
	if r&top != 0 {
		return (r<<1 ^ poly) & mask
	}
	return r << 1 & mask
}

// Sum returns the check of data; an 8-bit check is below 256.
func (c *CRC) Sum(data []byte) uint16 {
	r := c.init
	for _, b := range data {
		if c.reflected || c.width == 8 { // of 8 bits nothing is left to shift
			r = r>>8 ^ c.table[byte(r)^b]
		} else {
			r = r<<8 ^ c.table[byte(r>>8)^b]
		}
	}
	return r ^ c.xorOut
}

// SumOf8 returns the sum of data modulo 256.
func SumOf8(data []byte) byte {
	var s byte
	for _, b := range data {
		s += b
	}
	return s
}

// XorOf8 returns the exclusive or of data.
func XorOf8(data []byte) byte {
	var x byte
	for _, b := range data {
		x ^= b
	}
	return x
}
