package wire

import (
	"hilrig/rig/signal"
)

// Normal is a source of noise: each call of Norm gives the next number of a
// normal distribution with mean 0 and standard deviation 1.
type Normal interface{ Norm() float64 }

// FrameEncoder is one message that a serial sensor sends: it builds the bytes of
// one frame after the other.
//
// Every field that carries a channel has noise, an [Integer] at least one least
// significant bit rms: a reading that never moves is what a frozen sensor gives.
type FrameEncoder struct {
	grid
	count    uint64 // frames built
	noise    Normal
	channels []string
	parts    []part
	checks   []part
	size     int // before stuffing
	said     []float64
	stuck    bool
	wrong    bool
	flagged  bool
	standing bool     // the counters stand still
	counted  uint64   // what the counters say
	last     []uint64 // what each field that carries a channel held in the last frame
	fixed    []byte   // one frame's constants, 0 elsewhere

	counts    bool       // a field counts frames
	flagAt    int        // the byte with the failsafe flag
	flag      byte       // its bits; 0: the frame has none
	constants []constant // of Bits, until they stand in fixed
	sentence  *sentence
	stuffing  Stuffing
	plain     []byte // a frame before stuffing
}

// constant is a constant part of Bits.
type constant struct {
	part
	value uint64
}

// NewFrames returns the encoder that cfg declares, with frames that begin at offset,
// offset+Period and so on. offset is not negative. noise is drawn from once for each
// field of each frame that carries a channel and is not exact, in their order. The error names the field that is
// wrong, counted from 1.
func NewFrames(cfg Frame, noise Normal, offset signal.Time) (*FrameEncoder, error) {
	e := &FrameEncoder{grid: grid{next: offset, period: cfg.Period}, noise: noise}
	if err := e.layOut(cfg, offset); err != nil {
		return nil, err
	}
	e.last = make([]uint64, len(e.channels))
	e.said = make([]float64, len(e.channels))
	for i := range e.constants {
		e.constants[i].put(e.fixed, e.constants[i].value)
	}
	e.stuffing, e.flagAt, e.flag = cfg.Stuffing, cfg.FlagAt, cfg.FailsafeFlag
	return e, nil
}

// SetStuck says whether the sensor is frozen: frames and their sequence go on,
// the fields keep what they held in the last frame, to the bit.
func (e *FrameEncoder) SetStuck(stuck bool) { e.stuck = stuck }

// SetWrongChecksum says whether every check of the frames is wrong. A frame
// without a check is not changed; Checked tells.
func (e *FrameEncoder) SetWrongChecksum(wrong bool) { e.wrong = wrong }

// SetFlagged says whether the frames have their failsafe flag set. A frame without one is
// not changed; CanFlag tells.
func (e *FrameEncoder) SetFlagged(flagged bool) { e.flagged = flagged }

// CanFlag says whether the frame has a failsafe flag.
func (e *FrameEncoder) CanFlag() bool { return e.flag != 0 }

// SetSequenceStuck says whether the frames' counters stand still at what they last said.
// Once they go on, they say how many frames there were all along.
func (e *FrameEncoder) SetSequenceStuck(stuck bool) { e.standing = stuck }

// Counts says whether a field of the frame counts frames.
func (e *FrameEncoder) Counts() bool { return e.counts }

// Checked says whether the frame carries a check.
func (e *FrameEncoder) Checked() bool { return len(e.checks) > 0 || e.sentence != nil }

// Channels returns the names of the channels that the frame carries, one for each
// field that has one, in order: the values that Build wants. The slice is the encoder's own.
func (e *FrameEncoder) Channels() []string { return e.channels }

// Size returns the length of one frame on the line in bytes; with byte stuffing
// the greatest.
func (e *FrameEncoder) Size() int { return e.stuffing.longest(e.size) }

// Said returns what the last frame says of each channel, in the order of Channels: its
// value after noise, quantisation and clipping, SI. It is 0 before the first frame. The
// slice is the encoder's own.
func (e *FrameEncoder) Said() []float64 { return e.said }

// Build appends the bytes of the next frame and returns the extended slice;
// Next is then one period later. values stand in the order of Channels, SI; what
// is missing is 0, and so is NaN.
func (e *FrameEncoder) Build(dst []byte, values []float64) []byte {
	if e.stuffing.Kind == NoStuffing {
		dst = e.build(dst, values)
	} else {
		e.plain = e.build(e.plain[:0], values)
		dst = e.stuffing.Append(dst, e.plain)
	}
	e.count++
	e.next += e.period
	return dst
}

// build appends the next frame as it is before stuffing.
func (e *FrameEncoder) build(dst []byte, values []float64) []byte {
	if e.sentence != nil {
		return e.sentence.build(dst, e, values)
	}
	if !e.standing {
		e.counted = e.count
	}
	start := len(dst)
	dst = append(dst, e.fixed...)
	frame := dst[start:]
	if e.flagged && e.flag != 0 {
		frame[e.flagAt] |= e.flag
	}
	channel := 0
	for i := range e.parts {
		p := &e.parts[i]
		if p.Kind == Sequence {
			p.put(frame, e.counted)
			continue
		}
		var value float64
		if channel < len(values) {
			value = values[channel]
		}
		if !p.Exact {
			value += float64(p.Noise * e.noise.Norm())
		}
		raw, sent := p.quantise(p.Curve.Mapped(p.round(value)))
		sent = p.Curve.Value(sent)
		if e.stuck && e.count > 0 {
			raw = e.last[channel]
		} else {
			e.said[channel] = sent
		}
		e.last[channel] = raw
		p.put(frame, raw)
		channel++
	}
	for i := range e.checks {
		p := &e.checks[i]
		sum := p.sum(frame[p.From:p.To])
		if e.wrong {
			sum ^= 0x5A
		}
		p.put(frame, sum)
	}
	return dst
}
