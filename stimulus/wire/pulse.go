package wire

import (
	"cmp"
	"fmt"
	"math"

	"hilrig/rig/signal"
)

// The widths that receiver pulses are clipped to where nothing is declared.
const (
	defaultLeast = 800 * signal.Microsecond
	defaultMost  = 2200 * signal.Microsecond
)

// withDefaults returns p with its limits filled in.
func (p Pulse) withDefaults() Pulse {
	p.Least = cmp.Or(p.Least, defaultLeast)
	p.Most = cmp.Or(p.Most, defaultMost)
	return p
}

// Limits returns the widths that the pulses are clipped to.
func (p Pulse) Limits() (least, most signal.Time) {
	p = p.withDefaults()
	return p.Least, p.Most
}

// check returns what is wrong with p, whose defaults are filled in.
func (p Pulse) check() error {
	switch {
	case p.Least <= 0 || p.Most <= p.Least:
		return fmt.Errorf("pulse limits %v to %v; write the shorter first, both above zero", p.Least, p.Most)
	case p.Frame <= p.Most:
		return fmt.Errorf("frame of %v has no room for a pulse of %v; write a longer frame or a lower limit", p.Frame, p.Most)
	}
	for _, w := range []signal.Time{p.Low, p.High} {
		if w < p.Least || w > p.Most {
			return fmt.Errorf("pulse width %v lies outside the limits %v to %v; widen the limits", w, p.Least, p.Most)
		}
	}
	switch {
	case p.Low == p.High:
		return fmt.Errorf("both ends of the pulse are %v wide; write two different widths", p.Low)
	case p.LowValue == p.HighValue || !finite(p.LowValue) || !finite(p.HighValue):
		return fmt.Errorf("both ends of the pulse stand for %g and %g; write two different finite values", p.LowValue, p.HighValue)
	}
	return nil
}

func finite(x float64) bool { return !math.IsNaN(x) && !math.IsInf(x, 0) }

// PulseEncoder is one receiver channel: a pulse rises at each point of a frame
// grid, and its width stands for the value at that moment. Its line is low at first.
type PulseEncoder struct {
	pulses
	cfg      Pulse
	perValue float64 // ns of width for each unit of value
	forced   signal.Time
}

// NewPulses returns the encoder that cfg declares, on line, with pulses that rise at
// offset, offset+Frame and so on. offset is not negative. The error says which
// value is wrong.
func NewPulses(cfg Pulse, line signal.Line, offset signal.Time) (*PulseEncoder, error) {
	cfg = cfg.withDefaults()
	if err := cfg.check(); err != nil {
		return nil, err
	}
	if offset < 0 {
		return nil, fmt.Errorf("pulse grid begins at %v; begin at 0 s or later", offset)
	}
	return &PulseEncoder{
		pulses:   pulses{grid: grid{next: offset, period: cfg.Frame}, line: [1]signal.Line{line}},
		cfg:      cfg,
		perValue: float64(cfg.High-cfg.Low) / (cfg.HighValue - cfg.LowValue),
	}, nil
}

// Mirrored returns the value whose pulse is as far above the middle of the range
// as that of value is below it, as with a servo that is set to run the other way.
func (e *PulseEncoder) Mirrored(value float64) float64 {
	return e.cfg.Curve.Value(e.cfg.LowValue + (e.cfg.HighValue - e.cfg.Curve.Mapped(value)))
}

// Width returns the width that stands for value, rounded to the nanosecond and
// clipped to Least..Most. NaN gives Least.
func (e *PulseEncoder) Width(value float64) signal.Time {
	w := math.Round(float64(e.cfg.Low) + float64((e.cfg.Curve.Mapped(value)-e.cfg.LowValue)*e.perValue))
	switch {
	case w >= float64(e.cfg.Most):
		return e.cfg.Most
	case w > float64(e.cfg.Least):
		return signal.Time(w)
	}
	return e.cfg.Least
}

// ValueOf returns the value that a pulse of that width stands for, in the unit
// of LowValue and HighValue. It is the inverse of Width within rounding.
func (e *PulseEncoder) ValueOf(width signal.Time) float64 {
	return e.cfg.Curve.Value(e.cfg.LowValue + (float64(width)-float64(e.cfg.Low))/e.perValue)
}

// SetWidth has the pulses that rise from now on be of a width, whatever the value; 0: of that of the value.
func (e *PulseEncoder) SetWidth(width signal.Time) { e.forced = width }

// Append appends the edges in [from, to) and returns the extended slice. A
// pulse that rises in the span has the width of value; it may fall in a later
// span. Spans follow on each other: frames that would have begun before from are left out.
func (e *PulseEncoder) Append(dst []signal.Edge, from, to signal.Time, value float64) []signal.Edge {
	if to <= from {
		return dst
	}
	return e.play(dst, from, to, func(signal.Time) signal.Time {
		if e.forced > 0 {
			return e.forced
		}
		return e.Width(value)
	})
}
