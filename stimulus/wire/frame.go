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
// Every [Integer] field carries noise of at least one least significant bit rms: a
// reading that never moves is what a frozen sensor gives.
type FrameEncoder struct {
	period   signal.Time
	next     signal.Time
	count    uint64 // frames built
	noise    Normal
	channels []string
	parts    []part
	checks   []part
	size     int
	sent     float64
	fixed    []byte // one frame's constants, 0 elsewhere
}

// NewFrames returns the encoder that cfg declares, with frames that begin at offset,
// offset+Period and so on. offset is not negative. noise is drawn from once for each
// Integer field of each frame, in their order. The error names the field that is
// wrong, counted from 1.
func NewFrames(cfg Frame, noise Normal, offset signal.Time) (*FrameEncoder, error) {
	e := &FrameEncoder{period: cfg.Period, next: offset, noise: noise}
	if err := e.layOut(cfg, offset); err != nil {
		return nil, err
	}
	return e, nil
}

// Channels returns the names of the channels that the frame carries, one for each
// Integer field, in order: the values that Build wants. The slice is the encoder's own.
func (e *FrameEncoder) Channels() []string { return e.channels }

// Size returns the length of one frame in bytes.
func (e *FrameEncoder) Size() int { return e.size }

// Next returns the start of the next frame.
func (e *FrameEncoder) Next() signal.Time { return e.next }

// Skip leaves out the frames that would begin before from. Neither noise nor
// sequence takes notice.
func (e *FrameEncoder) Skip(from signal.Time) {
	if e.next < from {
		e.next += (from - e.next + e.period - 1) / e.period * e.period
	}
}

// Sent returns what the last frame says of the first channel: its value after
// noise, quantisation and clipping, SI. It is 0 before the first frame and where
// there is no Integer field.
func (e *FrameEncoder) Sent() float64 { return e.sent }

// Build appends the bytes of the next frame and returns the extended slice;
// Next is then one period later. values stand in the order of Channels, SI; what
// is missing is 0, and so is NaN.
func (e *FrameEncoder) Build(dst []byte, values []float64) []byte {
	start := len(dst)
	dst = append(dst, e.fixed...)
	frame := dst[start:]
	channel := 0
	for i := range e.parts {
		p := &e.parts[i]
		if p.kind == Sequence {
			p.put(frame, e.count)
			continue
		}
		var value float64
		if channel < len(values) {
			value = values[channel]
		}
		raw, sent := p.quantise(value + float64(p.noise*e.noise.Norm()))
		p.put(frame, raw)
		if channel == 0 {
			e.sent = sent
		}
		channel++
	}
	for i := range e.checks {
		p := &e.checks[i]
		p.put(frame, p.sum(frame[p.from:p.to]))
	}
	e.count++
	e.next += e.period
	return dst
}
