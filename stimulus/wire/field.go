package wire

import (
	"math"
)

// part is one field of a frame that changes from frame to frame, worked out for
// building.
type part struct {
	Field         // as it was declared, with what that leaves out
	at, size  int // bytes; of a part of Bits: bits
	packed    bool
	low, high float64 // raw range; whole numbers of an Integer
	turns     bool    // the value is an angle that comes round
	from      float64 // rad, the least that such a value may be
	crc       *CRC
}

// integerRange returns the lowest and highest integer of that many bits.
func integerRange(bits int, signed bool) (low, high float64) {
	if signed {
		half := math.Ldexp(1, bits-1)
		return -half, half - 1
	}
	return 0, math.Ldexp(1, bits) - 1
}

// limit narrows the raw range to the sensor's range lo..hi, SI. A hair is allowed for:
// a range written in deg and a scale written in rad meet a whole number only nearly.
func (p *part) limit(lo, hi float64) {
	a, b := (lo-p.Offset)/p.Scale, (hi-p.Offset)/p.Scale
	if a > b {
		a, b = b, a
	}
	if p.Kind != Integer {
		p.low, p.high = max(p.low, a), min(p.high, b)
		return
	}
	hair := 1e-6 + float64(1e-12*max(math.Abs(a), math.Abs(b)))
	p.low = max(p.low, math.Ceil(a-hair))
	p.high = min(p.high, math.Floor(b+hair))
}

// float returns value as the bits of a float, and the value that they stand for.
func (p *part) float(value float64) (bits uint64, sent float64) {
	raw := (value - p.Offset) / p.Scale
	if raw != raw { // NaN
		raw = 0
	}
	raw = min(max(raw, p.low), p.high)
	if p.Kind == Float32 {
		short := float32(raw)
		return uint64(math.Float32bits(short)), float64(float64(short)*p.Scale) + p.Offset
	}
	return math.Float64bits(raw), float64(raw*p.Scale) + p.Offset
}

// quantise returns the raw number of value as bits, and the value that it stands for.
func (p *part) quantise(value float64) (bits uint64, sent float64) {
	if p.Kind != Integer {
		return p.float(value)
	}
	raw := math.Round((value - p.Offset) / p.Scale)
	if raw != raw { // NaN
		raw = 0
	}
	raw = min(max(raw, p.low), p.high)
	sent = float64(raw*p.Scale) + p.Offset
	switch {
	case raw < 0: // at least -2^63
		return uint64(int64(raw)), sent
	case p.Signed && raw >= 1<<63: // the highest integer of 8 bytes rounds up to this
		return 1<<63 - 1, sent
	case raw >= 1<<64:
		return 1<<64 - 1, sent
	}
	return uint64(raw), sent
}

// sum returns the check over data.
func (p *part) sum(data []byte) uint64 {
	switch p.Kind {
	case Sum8:
		return uint64(SumOf8(data))
	case Xor8:
		return uint64(XorOf8(data))
	}
	return uint64(p.crc.Sum(data))
}

// pack writes the low bits of v into their place in frame, which has zeros there.
func (p *part) pack(frame []byte, v uint64) {
	for i := range p.size {
		at := p.at + i
		if p.LowFirst {
			frame[at>>3] |= byte(v>>i&1) << (at & 7)
		} else {
			frame[at>>3] |= byte(v>>(p.size-1-i)&1) << (7 - at&7)
		}
	}
}

// put writes the low bytes of v into its place in frame.
func (p *part) put(frame []byte, v uint64) {
	if p.packed {
		p.pack(frame, v)
		return
	}
	b := frame[p.at : p.at+p.size]
	for i := range b {
		if p.LittleEndian {
			b[i] = byte(v)
		} else {
			b[len(b)-1-i] = byte(v)
		}
		v >>= 8
	}
}

// comeRound has the part carry an angle that comes round: from the beginning of the sensor's
// range where that is a whole turn, of an unsigned integer from its offset, else from -180 deg.
func (p *part) comeRound() {
	const turn = 2 * math.Pi
	p.turns = true
	switch span := p.Max - p.Min; {
	case span > 0.99*turn && span < 1.01*turn:
		p.from = p.Min
	case p.Kind == Integer && !p.Signed:
		p.from = p.Offset
	default:
		p.from = -math.Pi
	}
}

// round returns an angle in rad as the part carries it.
func (p *part) round(angle float64) float64 {
	const turn = 2 * math.Pi
	if !p.turns || angle >= p.from && angle < p.from+turn {
		return angle
	}
	return angle - float64(turn*math.Floor((angle-p.from)/turn))
}
