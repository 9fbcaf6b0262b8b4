package stand

import "math"

// Truth is what a measurement on a stand should find, in closed form: the controller at the temperature
// of the air, its answer settled.
type Truth struct {
	esc     ESC
	circuit circuit
	motor   Motor
	inertia float64
}

// Direction is from where a command was approached.
type Direction uint8

// The directions.
const (
	Up   Direction = iota // from below
	Down                  // from above
)

// Duty returns the controller's duty at a command that was approached from so far on that side that
// whatever lags has been dragged along.
func (t Truth) Duty(command float64, from Direction) float64 {
	side := -1.0
	if from == Down {
		side = 1
	}
	esc := t.esc
	far := 1 + float64(2*(esc.Hysteresis.Width+esc.DeadBand))
	m := throttleMap{esc: &esc, ahead: -side}
	m.follow(command + float64(side*far))
	return m.follow(command)
}

// drive returns what the circuit gives at a command and a speed.
func (t Truth) drive(command, speed float64, from Direction) drive {
	duty := t.Duty(command, from)
	switch {
	case duty != 0:
		return t.circuit.at(duty, speed)
	case t.esc.Brakes:
		return t.circuit.shorted(speed)
	}
	return drive{voltage: t.circuit.voltage}
}

// Torque returns the torque that the current makes, in N m, at a command and a speed in rad/s.
// Drag is still to be taken from it.
func (t Truth) Torque(command, speed float64, from Direction) float64 {
	return float64(t.motor.TorqueConstant * t.drive(command, speed, from).current)
}

// ConstantTorque is [Truth.Torque] with a pack that keeps its voltage without load, whatever it gives.
func (t Truth) ConstantTorque(command, speed float64, from Direction) float64 {
	t.circuit.sag, t.circuit.supply = 0, 0
	return t.Torque(command, speed, from)
}

// Drag returns the torque of friction at a speed, in N m and with the speed's sign; at rest 0.
func (t Truth) Drag(speed float64) float64 {
	if speed == 0 {
		return 0
	}
	return math.Copysign(t.motor.Coulomb, speed) + float64(t.motor.Viscous*speed)
}

// Current returns the winding's current in A.
func (t Truth) Current(command, speed float64, from Direction) float64 {
	return t.drive(command, speed, from).current
}

// Supply returns voltage and current of the pack, in V and A.
func (t Truth) Supply(command, speed float64, from Direction) (voltage, current float64) {
	d := t.drive(command, speed, from)
	return d.voltage, d.supply
}

// Acceleration returns the angular acceleration of a free shaft in rad/s2.
func (t Truth) Acceleration(command, speed float64, from Direction) float64 {
	return (t.Torque(command, speed, from) - t.Drag(speed)) / t.inertia
}
