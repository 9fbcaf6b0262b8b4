package stand

import "math"

// throttleMap is the way from command to duty.
type throttleMap struct {
	esc      *ESC
	accepted float64 // the command that is followed
	ahead    float64 // sense of its last change, +1 or -1
	play     float64 // what the command drags along
}

// follow takes the next command and returns the duty that belongs to it, heat aside.
func (m *throttleMap) follow(command float64) float64 {
	e := m.esc
	if back := float64((m.accepted - command) * m.ahead); back <= 0 || back > e.DeadBand {
		if back > 0 {
			m.ahead = -m.ahead
		}
		m.accepted = command
	}
	x := m.accepted
	if h := e.Hysteresis; h.Width > 0 {
		m.play = min(max(m.play, x-h.Width), x+h.Width)
		x += float64(h.Depth * (m.play - x))
	}
	// Idle is idle whatever lags behind.
	if math.Abs(m.accepted) < e.Start || m.accepted == 0 {
		return e.IdleDuty
	}
	return math.Copysign(e.shape(math.Abs(x)), m.accepted)
}

// shape returns the duty of a command of 0 or more that lies above Start.
func (e *ESC) shape(x float64) float64 {
	at := x
	if s := e.Sharp; s.Lift != 0 {
		x += float64(s.Lift*x*(1-x)) / (x + s.Knee)
	}
	x /= e.Saturation
	if j := e.Jump; j.By != 0 && math.Abs(at-j.At) <= j.Width/2 {
		x += j.By
	}
	x = min(max(x, 0), 1)
	if e.Steps > 0 {
		n := float64(e.Steps)
		x = math.Floor(float64(x*n)+0.5) / n
	}
	n := float64(e.Resolution)
	return math.Floor(float64(x*n)+0.5) / n
}
