package decode

import (
	"cmp"
	"fmt"

	"hilrig/rig/signal"
)

// Servo declares a motor command sent as a servo pulse.
type Servo struct {
	Idle signal.Time // width that stands for 0
	Full signal.Time // width that stands for 1
	// WithNeutral says that widths on the other side of Idle are commands down to -1.
	WithNeutral    bool
	Inverted       bool        // the pulse is low
	Least, Most    signal.Time // a pulse outside is Short or Overlong; 0 means 500 us and 2500 us
	LostAfter      signal.Time // no pulse for this long is Lost; 0 means 100 ms
	MaxUncertainty float64     // a pulse less certain than this half-width, share of range, is Uncertain and left out; 0 means 0.02, of OneShot125 0.03 from end to end
	Step           signal.Time // smallest change of width that the board can make; 0 means 1 us, or a thousandth from end to end where that is less
}

// The limits of a servo pulse where nothing is declared.
const (
	defaultLeast          = 500 * signal.Microsecond
	defaultMost           = 2500 * signal.Microsecond
	defaultLostAfter      = 100 * signal.Millisecond
	defaultMaxUncertainty = 0.02
)

// CommandStep returns the smallest difference of command that the line can
// show, in the unit of the command: 0.001 for a pulse of 1000 to 2000 us timed to 1 us,
// 0.002 where 1500 us is neutral. It is 0 where Idle and Full are the same.
func (s Servo) CommandStep() float64 {
	span := float64(s.span())
	if span == 0 {
		return 0
	}
	step := float64(s.Step)
	if s.Step <= 0 {
		whole := span
		if s.WithNeutral {
			whole *= 2
		}
		step = min(float64(signal.Microsecond), whole/1000)
	}
	return step / span
}

// span returns the width from Idle to Full, positive.
func (s Servo) span() signal.Time { return max(s.Full-s.Idle, s.Idle-s.Full) }

// ends returns the widths of the commands 0, 1 and, with a neutral, -1.
func (s Servo) ends() []signal.Time {
	if s.WithNeutral {
		return []signal.Time{s.Idle, s.Full, 2*s.Idle - s.Full}
	}
	return []signal.Time{s.Idle, s.Full}
}

// withDefaults returns s with its limits filled in.
func (s Servo) withDefaults() Servo {
	s.Least = cmp.Or(s.Least, defaultLeast)
	s.Most = cmp.Or(s.Most, defaultMost)
	s.LostAfter = cmp.Or(s.LostAfter, defaultLostAfter)
	s.MaxUncertainty = cmp.Or(s.MaxUncertainty, defaultMaxUncertainty)
	return s
}

// check returns what is wrong with s, whose defaults are filled in.
func (s Servo) check() error {
	switch {
	case s.Idle == s.Full:
		return fmt.Errorf("idle and full are both %v wide; write two different widths", s.Idle)
	case s.Least < 0 || s.Most <= s.Least:
		return fmt.Errorf("pulse limits %v to %v; write the shorter first", s.Least, s.Most)
	}
	for _, w := range s.ends() {
		if w < s.Least || w > s.Most {
			return fmt.Errorf("pulse width %v lies outside the limits %v to %v; widen the limits", w, s.Least, s.Most)
		}
	}
	switch {
	case s.LostAfter <= s.Most:
		return fmt.Errorf("a loss after %v is not longer than a pulse of %v; write a longer time", s.LostAfter, s.Most)
	case !(s.MaxUncertainty > 0 && s.MaxUncertainty <= 1):
		return fmt.Errorf("uncertainty of up to %g of the range; write a share above 0, up to 1", s.MaxUncertainty)
	case s.Step < 0:
		return fmt.Errorf("command step %v; write 0 s or more", s.Step)
	}
	return nil
}
