package decode

import (
	"math"

	"hilrig/rig/signal"
	"hilrig/rig/trace"
)

// ServoDecoder reads the commands of one line of servo pulses.
//
// An edge to the level that the line has already means that one in between was
// missed, and the pulse that it belonged to is left out. Where it is a gap of the
// sampler (see signal.Edge), that is an Uncertain event.
type ServoDecoder struct {
	cfg            Servo
	span           float64 // ns from Idle to Full, signed
	maxUncertainty float64 // ns
	now            signal.Time
	good           signal.Time // from here the wait for a pulse counts
	rise           signal.Edge // the beginning of the pulse under way
	high           bool        // the line's level, as of a pulse
	pulse          bool        // one is under way
	open           bool        // it may have ended and begun anew in a gap
	since          signal.Time // from here it was watched
	sure           signal.Time // the longest that it was watched before that
	see            func(Reading)
	started        bool
	lost           bool
}

// NewServo returns a decoder for the line that cfg declares. The error says
// which value of cfg is wrong.
func NewServo(cfg Servo) (*ServoDecoder, error) {
	cfg = cfg.withDefaults()
	if err := cfg.check(); err != nil {
		return nil, err
	}
	span := float64(cfg.Full - cfg.Idle)
	return &ServoDecoder{cfg: cfg, span: span, maxUncertainty: cfg.MaxUncertainty * float64(cfg.span())}, nil
}

// Reset forgets all that was read and begins to wait for a pulse at t. A
// decoder that was never reset begins with its first call of Edge or Until.
func (d *ServoDecoder) Reset(t signal.Time) {
	d.now, d.good, d.started = t, t, true
	d.high, d.pulse, d.lost = false, false, false
}

// Observe has see called with each pulse as it ends, spikes left out; nil ends it.
func (d *ServoDecoder) Observe(see func(Reading)) { d.see = see }

// Until tells that the line has kept its level up to t. When no pulse has ended
// for longer than LostAfter, one Lost event is appended, at the time when that was so.
func (d *ServoDecoder) Until(t signal.Time, out *trace.Output) {
	if !d.started {
		d.Reset(t)
	}
	if t < d.now {
		return
	}
	d.now = t
	if !d.lost && t-d.good > d.cfg.LostAfter {
		d.lost = true
		out.Events = append(out.Events, trace.Event{At: d.good + d.cfg.LostAfter, Kind: trace.Lost})
	}
}

// Edge takes the line's next edge. One earlier than the time known so far is
// dropped, with an event.
func (d *ServoDecoder) Edge(e signal.Edge, out *trace.Output) {
	if d.started && e.At < d.now {
		d.event(trace.Backwards, out)
		return
	}
	d.Until(e.At, out)
	high := e.Level != d.cfg.Inverted
	if high == d.high && e.Uncertainty > 0 {
		d.gap(e)
		return
	}
	d.high = high
	if high {
		d.rise, d.pulse, d.open = e, true, false
		d.since, d.sure = e.At, 0
		return
	}
	if d.pulse {
		d.pulse = false
		frames := len(out.Frames)
		d.measure(e, out)
		if d.see != nil {
			d.read(e, max(d.sure, e.At-signal.Time(e.Uncertainty)-d.since), len(out.Frames) > frames)
		}
	}
}

// gap takes a time in which the line was not watched.
func (d *ServoDecoder) gap(e signal.Edge) {
	// Nothing can be missed where nothing was watched.
	d.good = min(d.good+signal.Time(e.Uncertainty), d.now)
	d.open = d.pulse
	d.since, d.sure = e.At, max(d.sure, e.At-signal.Time(e.Uncertainty)-d.since)
}

// measure takes a pulse that ends with edge fall.
func (d *ServoDecoder) measure(fall signal.Edge, out *trace.Output) {
	// The width lies between width-fall.Uncertainty and width+rise.Uncertainty.
	width := float64(fall.At - d.rise.At)
	centre := width + float64((float64(d.rise.Uncertainty)-float64(fall.Uncertainty))/2)
	uncertainty := float64((float64(d.rise.Uncertainty) + float64(fall.Uncertainty)) / 2)
	least, most := float64(d.cfg.Least), float64(d.cfg.Most)
	switch {
	case d.open:
		d.alive()
		d.event(trace.Uncertain, out)
		return
	case centre+uncertainty < least:
		d.event(trace.Short, out)
		return
	case centre-uncertainty > most:
		d.event(trace.Overlong, out)
		return
	case uncertainty > d.maxUncertainty:
		d.alive()
		d.event(trace.Uncertain, out)
		return
	case centre < least:
		d.event(trace.Short, out)
		return
	case centre > most:
		d.event(trace.Overlong, out)
		return
	}
	d.alive()
	out.Frames = append(out.Frames, trace.Frame{
		Start:       d.rise.At,
		End:         fall.At,
		Value:       d.value(centre),
		Uncertainty: uncertainty / math.Abs(d.span),
	})
}

// value returns the command that a width in ns stands for.
func (d *ServoDecoder) value(width float64) float64 {
	return (width - float64(d.cfg.Idle)) / d.span
}

// alive notes that a pulse within the limits has ended now.
func (d *ServoDecoder) alive() { d.good, d.lost = d.now, false }

func (d *ServoDecoder) event(k trace.EventKind, out *trace.Output) {
	out.Events = append(out.Events, trace.Event{At: d.now, Kind: k})
}
