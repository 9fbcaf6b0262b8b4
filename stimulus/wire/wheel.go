package wire

import (
	"fmt"

	"hilrig/rig/signal"
)

// WheelKind says how a wheel's sensor speaks.
type WheelKind uint8

// The kinds of wheel sensor.
const (
	QuadratureWheel WheelKind = iota
	TachoWheel
	DutyWheel
)

var wheelKinds = [...]string{"quadrature", "tacho", "duty"}

// String returns the kind's word, "quadrature"; a kind that there is not gives "unknown".
func (k WheelKind) String() string {
	if int(k) < len(wheelKinds) {
		return wheelKinds[k]
	}
	return "unknown"
}

// WheelSensor declares one wheel's sensor: what Kind says; the others are not
// looked at. The zero value is a quadrature encoder without lines, which is an error.
type WheelSensor struct {
	Kind       WheelKind
	Quadrature Quadrature
	Tacho      Tacho
	Duty       Duty
}

// WheelEncoder turns one wheel's speed to edges.
type WheelEncoder interface {
	// Append appends the edges in [from, to) of a wheel that turns at omega
	// rad/s all that time, in order of time, and returns the extended slice.
	// Spans follow on each other. NaN is standstill.
	Append(dst []signal.Edge, from, to signal.Time, omega float64) []signal.Edge
	// Level returns the level of one of the encoder's lines at the end of the
	// last span; false for a line that is not the encoder's.
	Level(line signal.Line) bool
	// Lines returns the encoder's lines in the order of [WheelSensor.Wires]. The
	// slice is the encoder's own.
	Lines() []signal.Line
}

// Wires returns the roles of the sensor's lines, in the order that New takes them.
func (s WheelSensor) Wires() []signal.Role {
	switch {
	case s.Kind == TachoWheel:
		return []signal.Role{signal.Tacho}
	case s.Kind == DutyWheel:
		return []signal.Role{signal.Duty}
	case s.Quadrature.Index:
		return []signal.Role{signal.EncoderA, signal.EncoderB, signal.EncoderIndex}
	}
	return []signal.Role{signal.EncoderA, signal.EncoderB}
}

// EdgeRate returns how many edges per second a wheel turning at omega rad/s
// gives, an index left out. It is never negative.
func (s WheelSensor) EdgeRate(omega float64) float64 {
	switch s.Kind {
	case TachoWheel:
		return s.Tacho.EdgeRate(omega)
	case DutyWheel:
		return s.Duty.EdgeRate()
	}
	return s.Quadrature.EdgeRate(omega)
}

// New returns the sensor's encoder on those lines, in the order of Wires. The
// error says which value of the sensor is wrong, or that there are too few lines.
func (s WheelSensor) New(lines ...signal.Line) (WheelEncoder, error) {
	if int(s.Kind) >= len(wheelKinds) {
		return nil, fmt.Errorf("wheel sensor of kind %d; use quadrature, tacho or duty", s.Kind)
	}
	if want := len(s.Wires()); len(lines) != want {
		return nil, fmt.Errorf("%s sensor on %d lines; give it %d", s.Kind, len(lines), want)
	}
	switch s.Kind {
	case TachoWheel:
		return made(newTacho(s.Tacho, lines[0]))
	case DutyWheel:
		return made(newDuty(s.Duty, lines[0]))
	}
	var index signal.Line
	if s.Quadrature.Index {
		index = lines[2]
	}
	return made(NewQuadrature(s.Quadrature, lines[0], lines[1], index))
}

// made returns what was made, or nothing where there is an error.
func made[E WheelEncoder](e E, err error) (WheelEncoder, error) {
	if err != nil {
		return nil, err
	}
	return e, nil
}
