package plant

// torque returns the torque (N m at the wheel) of a motor with the command
// (-1..1) at the wheel speed (rad/s).
//
// Driving, it falls linearly with speed from StallTorque times the command to 0 at
// NoLoadSpeed times the command. Beyond that, and at idle, the motor brakes with
// the DragBrake share of what a short circuit would give. A command against the
// rotation brakes in proportion, as a speed controller with a brake does. This is
// common practice, no source.
func (m *Motor) torque(command, speed float64) float64 {
	share := speed / m.NoLoadSpeed
	e := command - share
	var t float64
	switch {
	case command*share < 0:
		t = m.StallTorque * (command - float64(m.DragBrake*share))
	case command*e > 0:
		t = m.StallTorque * e
	default:
		t = m.StallTorque * float64(m.DragBrake*e)
	}
	if l := m.TorqueLimit; l > 0 {
		t = max(-l, min(l, t))
	}
	return t
}
