package wire

import (
	"math"
)

// part is one field of a frame that changes from frame to frame, worked out for
// building.
type part struct {
	kind         FieldKind
	at, size     int
	littleEndian bool

	// Integer.
	signed        bool
	scale, offset float64
	noise         float64 // rms, SI
	low, high     float64 // raw, whole numbers

	// Checks.
	from, to int
	crc      *CRC
}

// integerRange returns the lowest and highest integer of a size in bytes.
func integerRange(size int, signed bool) (low, high float64) {
	if signed {
		half := math.Ldexp(1, 8*size-1)
		return -half, half - 1
	}
	return 0, math.Ldexp(1, 8*size) - 1
}

// limit narrows the raw range to the sensor's range lo..hi, SI. A hair is allowed for:
// a range written in deg and a scale written in rad meet a whole number only nearly.
func (p *part) limit(lo, hi float64) {
	a, b := (lo-p.offset)/p.scale, (hi-p.offset)/p.scale
	if a > b {
		a, b = b, a
	}
	hair := 1e-6 + float64(1e-12*max(math.Abs(a), math.Abs(b)))
	p.low = max(p.low, math.Ceil(a-hair))
	p.high = min(p.high, math.Floor(b+hair))
}

// quantise returns the raw integer of value as bits, and the value that it stands for.
func (p *part) quantise(value float64) (bits uint64, sent float64) {
	raw := math.Round((value - p.offset) / p.scale)
	if raw != raw { // NaN
		raw = 0
	}
	raw = min(max(raw, p.low), p.high)
	sent = float64(raw*p.scale) + p.offset
	switch {
	case raw < 0: // at least -2^63
		return uint64(int64(raw)), sent
	case p.signed && raw >= 1<<63: // the highest integer of 8 bytes rounds up to this
		return 1<<63 - 1, sent
	case raw >= 1<<64:
		return 1<<64 - 1, sent
	}
	return uint64(raw), sent
}

// sum returns the check over data.
func (p *part) sum(data []byte) uint64 {
	switch p.kind {
	case Sum8:
		return uint64(SumOf8(data))
	case Xor8:
		return uint64(XorOf8(data))
	}
	return uint64(p.crc.Sum(data))
}

// put writes the low bytes of v into its place in frame.
func (p *part) put(frame []byte, v uint64) {
	b := frame[p.at : p.at+p.size]
	for i := range b {
		if p.littleEndian {
			b[i] = byte(v)
		} else {
			b[len(b)-1-i] = byte(v)
		}
		v >>= 8
	}
}
