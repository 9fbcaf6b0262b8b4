package decode

import (
	"cmp"
	"fmt"
	"slices"

	"hilrig/rig/signal"
	"hilrig/rig/trace"
)

// MotorKind is the format of a motor command.
type MotorKind uint8

// The formats of a motor command.
const (
	ServoPulse MotorKind = iota // a pulse of about 1000 to 2000 us
	OneShot125                  // the same in an eighth of the time
	DShot150                    // digital frames at 150 kbit/s
	DShot300
	DShot600
	MotorKinds // how many there are
)

var motorWords = [MotorKinds]string{"servo_pulse", "oneshot125", "dshot150", "dshot300", "dshot600"}

var motorRates = [MotorKinds]int{DShot150: 150, DShot300: 300, DShot600: 600}

// String returns the format's word, "dshot300".
func (k MotorKind) String() string {
	if k >= MotorKinds {
		return fmt.Sprintf("motor kind %d", uint8(k))
	}
	return motorWords[k]
}

// MotorKindNamed returns the format with that word; ok is false where there is none.
func MotorKindNamed(word string) (k MotorKind, ok bool) {
	i := slices.Index(motorWords[:], word)
	return MotorKind(max(i, 0)), i >= 0
}

// rate returns the bit rate of a digital format in kbit/s, 0 of a pulse.
func (k MotorKind) rate() int {
	if k >= MotorKinds {
		return 0
	}
	return motorRates[k]
}

// Digital says whether commands come as frames of bits.
func (k MotorKind) Digital() bool { return k.rate() > 0 }

// Motor declares one motor line.
type Motor struct {
	Kind  MotorKind
	Servo Servo // of the pulses; for OneShot125 the widths may be 0: 125 to 250 us
	DShot DShot // of the digital formats; Kind says the Rate
}

// MotorDecoder turns one motor line's edges to command frames.
type MotorDecoder interface {
	// Reset forgets all that was read and begins to wait for a command at t.
	Reset(t signal.Time)
	// Edge takes the line's next edge and appends what it completes.
	Edge(e signal.Edge, out *trace.Output)
	// Until tells that the line has kept its level up to t.
	Until(t signal.Time, out *trace.Output)
	// Observe has see called with each pulse or frame as it ends, whatever it was, until
	// it is called again; nil ends it. Reset does not.
	Observe(see func(Reading))
}

// New returns a decoder for the line. The error says which value is wrong.
func (m Motor) New() (MotorDecoder, error) {
	m = m.WithDefaults()
	switch {
	case m.Kind >= MotorKinds:
		return nil, fmt.Errorf("%v is not known; use one of %v", m.Kind, motorWords)
	case m.Kind.Digital():
		return NewDShot(m.DShot)
	}
	return NewServo(m.Servo)
}

// The widths of OneShot125 where nothing is declared: an eighth of a servo pulse's,
// with room for the ends.
const (
	oneShotIdle  = 125 * signal.Microsecond
	oneShotFull  = 250 * signal.Microsecond
	oneShotLeast = 100 * signal.Microsecond
	oneShotMost  = 300 * signal.Microsecond
)

// oneShotUncertainty is the MaxUncertainty of OneShot125 from end to end, where none is declared: the
// stamps of a kernel, which lie some 3 us apart, make 2.4 % (jclark/satpulse, discussion 460).
const oneShotUncertainty = 0.03

// WithDefaults returns m with what the format says filled in.
func (m Motor) WithDefaults() Motor {
	m.DShot.Rate = m.Kind.rate()
	if m.Kind != OneShot125 {
		return m
	}
	s := &m.Servo
	idle, uncertainty := oneShotIdle, oneShotUncertainty
	if s.WithNeutral {
		idle, uncertainty = (oneShotIdle+oneShotFull)/2, 2*oneShotUncertainty
	}
	s.Idle, s.Full = cmp.Or(s.Idle, idle), cmp.Or(s.Full, oneShotFull)
	s.Least, s.Most = cmp.Or(s.Least, oneShotLeast), cmp.Or(s.Most, oneShotMost)
	s.MaxUncertainty = cmp.Or(s.MaxUncertainty, uncertainty)
	return m
}

// CommandStep returns the smallest difference of command that the line can
// show: 0.001 for a servo pulse of 1000 to 2000 us timed to 1 us, 1/1999 for a digital frame.
func (m Motor) CommandStep() float64 {
	m = m.WithDefaults()
	if m.Kind.Digital() {
		return m.DShot.CommandStep()
	}
	return m.Servo.CommandStep()
}

// Lowest returns the lowest command: 0, or -1 where the line carries both senses.
func (m Motor) Lowest() float64 {
	if m.Kind.Digital() && m.DShot.TwoDirection || !m.Kind.Digital() && m.Servo.WithNeutral {
		return -1
	}
	return 0
}

// Inverted says whether the line rests high.
func (m Motor) Inverted() bool {
	if m.Kind.Digital() {
		return m.DShot.Inverted
	}
	return m.Servo.Inverted
}

// Times returns how long the shortest and the longest command take on the wire.
func (m Motor) Times() (shortest, longest signal.Time) {
	m = m.WithDefaults()
	if rate := m.Kind.rate(); rate > 0 {
		t := signal.Time(frameBits * int64(signal.Millisecond) / int64(rate))
		return t, t
	}
	ends := m.Servo.ends()
	return slices.Min(ends), slices.Max(ends)
}

// Pulse returns the pulses' declaration with every default filled in.
func (m Motor) Pulse() Servo { return m.WithDefaults().Servo.withDefaults() }

// Format says in words what the line carries: "servo_pulse 1000 to 2000 us",
// "dshot300, inverted, two directions".
func (m Motor) Format() string {
	m = m.WithDefaults()
	text := m.Kind.String()
	if !m.Kind.Digital() {
		us := func(t signal.Time) float64 { return float64(t) / float64(signal.Microsecond) }
		text += fmt.Sprintf(" %g to %g us", us(m.Servo.Idle), us(m.Servo.Full))
	}
	if m.Inverted() {
		text += ", inverted"
	}
	if m.Lowest() < 0 {
		text += ", two directions"
	}
	if m.Kind.Digital() && m.DShot.Tolerance > 0 {
		text += fmt.Sprintf(", bit times within %g %%", 100*m.DShot.Tolerance)
	}
	return text
}
