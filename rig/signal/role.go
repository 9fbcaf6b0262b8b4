package signal

// Wheel is the wheel that a line belongs to. The zero value is none.
type Wheel uint8

// The wheels.
const (
	NoWheel Wheel = iota
	FrontLeft
	FrontRight
	RearLeft
	RearRight
)

// Wheels lists the four wheels in the order in which arrays of four stand everywhere.
var Wheels = [4]Wheel{FrontLeft, FrontRight, RearLeft, RearRight}

var wheelNames = [...]string{"", "front_left", "front_right", "rear_left", "rear_right"}

// String returns the wheel's name as it stands in files, "rear_left", and "" for none.
func (w Wheel) String() string { return wheelNames[w] }

// Role says what a line carries. The zero value is a line of which that is not known.
type Role uint8

// The roles. Those of a wheel's sensor and Motor go with a [Wheel].
const (
	OtherRole Role = iota
	SteerPulse
	ThrottlePulse
	GainPulse
	EncoderA
	EncoderB
	EncoderIndex
	Tacho
	Duty
	Motor         // the commands that the board sends a motor
	SerialData    // the bytes that the rig sends on a port, a receiver's bus included
	SerialRequest // the bytes that the board sends on a port

	// The roles of a stand, on which a speed controller is under test.

	ThrottleCommand // the commands that the rig sends the speed controller
	ShaftA          // of the encoder on the motor's shaft
	ShaftB
	ShaftTacho   // the same by a sensor of one line
	CellClock    // the clock of a load cell's converter, which the rig plays
	CellData     // what that converter answers
	ESCTelemetry // the bytes that the speed controller sends of itself
)

var roleNames = [...]string{
	"", "steer", "throttle", "gain", "a", "b", "index", "tacho", "duty", "motor", "", "",
	"throttle_command", "shaft_a", "shaft_b", "shaft_tacho", "cell_clock", "cell_data", "esc_telemetry",
}

// String returns the role's part of a line's name, "steer", "index" or "motor"; it is empty
// for a role whose lines have names of their own.
func (r Role) String() string { return roleNames[r] }

// Receiver says whether a line of that role carries a receiver's pulses.
func (r Role) Receiver() bool { return r >= SteerPulse && r <= GainPulse }

// Quadrature says whether a line of that role is one of a quadrature encoder.
func (r Role) Quadrature() bool { return r >= EncoderA && r <= EncoderIndex }

// WheelSensor says whether a line of that role is one of a wheel's sensor of any kind.
func (r Role) WheelSensor() bool { return r >= EncoderA && r <= Duty }

// Stand says whether a line of that role is one of a stand for a speed controller.
func (r Role) Stand() bool { return r >= ThrottleCommand && r <= ESCTelemetry }

// StandRoles lists the roles of a stand's lines in the order in which they stand in a layout.
func StandRoles() []Role {
	return []Role{ThrottleCommand, ShaftA, ShaftB, ShaftTacho, CellClock, CellData, ESCTelemetry}
}

// WheelSensorRoles lists the roles that a line of a wheel's sensor can have.
func WheelSensorRoles() []Role { return []Role{EncoderA, EncoderB, EncoderIndex, Tacho, Duty} }

// Spec returns the line of a role that has the same name on every bench: steer,
// front_left_a, motor_rear_right, shaft_a. It rests low, but for two lines of a stand that
// rest high: a converter's data, which goes low when a reading is ready, and telemetry. The lines
// of ports are named by their ports.
func Spec(role Role, wheel Wheel) LineSpec {
	l := LineSpec{Name: role.String(), Role: role, Wheel: wheel}
	switch {
	case role == Motor:
		l.Direction = Capture
		l.Name += "_" + wheel.String()
	case role.Stand():
		if role != ThrottleCommand && role != CellClock {
			l.Direction = Capture
		}
		l.Idle = role == CellData || role == ESCTelemetry
	case role.WheelSensor():
		l.Name = wheel.String() + "_" + l.Name
	}
	return l
}
