package decode

import (
	"fmt"

	"hilrig/rig/signal"
	"hilrig/rig/trace"
)

// Tacho declares a line that gives pulses as a wheel or motor turns, without
// its direction.
type Tacho struct {
	Pulses         int         // a turn; 1 or more
	Inverted       bool        // pulses are low
	LostAfter      signal.Time // no pulse for this long is Lost, for a standstill looks the same; 0 means 1 s
	MaxUncertainty float64     // a rate less certain than this half-width, share of it, is Uncertain and left out; 0 means 0.02
}

// TachoDecoder turns pulses to rates, in rad/s and 0 or more: a frame for each
// pulse after the first, from the beginning of the one before to its own.
type TachoDecoder struct {
	cfg     Tacho
	scale   float64 // rad times 1e9 a pulse
	now     signal.Time
	good    signal.Time // from here the wait for a pulse counts
	last    signal.Edge // the beginning of the last pulse
	high    bool        // the line's level, as of a pulse
	begun   bool        // there was a pulse
	open    bool        // there may have been others since
	started bool
	lost    bool
}

// NewTacho returns a decoder for the line that cfg declares. The error says
// which value of cfg is wrong.
func NewTacho(cfg Tacho) (*TachoDecoder, error) {
	if cfg.LostAfter == 0 {
		cfg.LostAfter = signal.Second
	}
	if cfg.MaxUncertainty == 0 {
		cfg.MaxUncertainty = defaultMaxDoubt
	}
	switch {
	case cfg.Pulses < 1 || cfg.Pulses > 100_000:
		return nil, fmt.Errorf("%d pulses a turn; write 1 to 100000", cfg.Pulses)
	case cfg.LostAfter < 0:
		return nil, fmt.Errorf("a loss after %v; write a time above 0 s", cfg.LostAfter)
	case !(cfg.MaxUncertainty > 0 && cfg.MaxUncertainty <= 1):
		return nil, fmt.Errorf("uncertainty of up to %g of the rate; write a share above 0, up to 1", cfg.MaxUncertainty)
	}
	return &TachoDecoder{cfg: cfg, scale: 2 * 3.14159265358979323846 * 1e9 / float64(cfg.Pulses)}, nil
}

// Reset forgets all that was read and begins to wait for a pulse at t.
func (d *TachoDecoder) Reset(t signal.Time) {
	d.now, d.good, d.started = t, t, true
	d.high, d.begun, d.open, d.lost = false, false, false, false
}

// Until tells that the line has kept its level up to t. When no pulse has begun
// for longer than LostAfter, one Lost event is appended, at the time when that was so.
func (d *TachoDecoder) Until(t signal.Time, out *trace.Output) {
	if !d.started {
		d.Reset(t)
	}
	if t < d.now {
		return
	}
	d.now = t
	if !d.lost && t-d.good > d.cfg.LostAfter {
		d.lost, d.begun = true, false
		out.Events = append(out.Events, trace.Event{At: d.good + d.cfg.LostAfter, Kind: trace.Lost})
	}
}

// Edge takes the line's next edge. One earlier than the time known so far is
// dropped, with an event.
func (d *TachoDecoder) Edge(e signal.Edge, out *trace.Output) {
	if d.started && e.At < d.now {
		d.event(trace.Backwards, out)
		return
	}
	d.Until(e.At, out)
	high := e.Level != d.cfg.Inverted
	if high == d.high {
		d.open = true // a pulse or a rest may have been missed
		d.good = min(d.good+signal.Time(e.Uncertainty), d.now)
		return
	}
	d.high = high
	if !high {
		return
	}
	if d.begun {
		d.measure(e, out)
	}
	d.last, d.begun, d.open, d.lost = e, true, false, false
	d.good = d.now
}

// measure takes the time from the last pulse to one that begins with edge e.
func (d *TachoDecoder) measure(e signal.Edge, out *trace.Output) {
	most := float64(e.At-d.last.At) + float64(d.last.Uncertainty)
	least := float64(e.At-d.last.At) - float64(e.Uncertainty)
	if d.open || least <= 0 {
		d.event(trace.Uncertain, out)
		return
	}
	slow, fast := d.scale/most, d.scale/least
	rate, uncertainty := float64((slow+fast)/2), float64((fast-slow)/2)
	if uncertainty > d.cfg.MaxUncertainty*rate {
		d.event(trace.Uncertain, out)
		return
	}
	out.Frames = append(out.Frames, trace.Frame{Start: d.last.At, End: e.At, Value: rate, Uncertainty: uncertainty})
}

func (d *TachoDecoder) event(k trace.EventKind, out *trace.Output) {
	out.Events = append(out.Events, trace.Event{At: d.now, Kind: k})
}
