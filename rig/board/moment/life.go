package moment

import "hilrig/rig/signal"

// leastSamples is how many yaw frames the offset has to be the mean of.
const leastSamples = 100

// life is how far the board has come since power-up.
type life struct {
	since   signal.Time // the car has stood still from then on
	sum     int64       // of the yaw frames since, counts
	samples int64

	calibrated bool
	sends      bool        // armed once: frames go out
	armed      bool        // the motors may turn
	idle       bool        // the throttle is at idle, and has been since idleFrom
	idleFrom   signal.Time //
}

// step takes one turn of the loop and says whether the motors may be driven.
func (l *life) step(at signal.Time, s *Settings, g *gyro, w *wheels, rc radio) (drive bool) {
	if s.has(calibrationSkipped) {
		l.calibrated = true
	}
	if !l.calibrated {
		l.calibrate(at, s, g, w)
		return false
	}
	atIdle := !rc.lost && rc.throttle == 0
	if !atIdle {
		l.idle = false
	} else if !l.idle {
		l.idle, l.idleFrom = true, at
	}
	switch {
	case rc.lost:
		l.armed = false
	case l.idle && at-l.idleFrom >= s.ArmFor, l.sends && s.has(recoversAtOnce):
		l.armed, l.sends = true, true
	}
	return l.armed
}

// calibrate takes the sensor's offset once the car has stood still for long enough.
func (l *life) calibrate(at signal.Time, s *Settings, g *gyro, w *wheels) {
	yaw, present := g.rate(at, s)
	if w.moved || !present || yaw > s.StillBelow || yaw < -s.StillBelow {
		l.since, l.sum, l.samples = at, 0, 0
	}
	if g.fresh {
		g.fresh = false
		l.sum += int64(g.raw)
		l.samples++
	}
	if at-l.since >= s.StillFor && l.samples >= leastSamples {
		g.offset = float64(l.sum) / float64(l.samples)
		l.calibrated = true
	}
}
