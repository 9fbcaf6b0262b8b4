package board

import (
	"math"

	"hilrig/rig/signal"
)

// failsafe is what the firmware remembers of trouble.
type failsafe struct {
	started   bool           // all inputs have been seen
	idle      bool           // no drive
	noShift   bool           // no shift
	fast      [4]bool        // the other three wheels are above EncoderOthers,
	fastSince [4]signal.Time // and since when
}

// supervise decides whether the motors may be driven and whether torque may
// be shifted.
func (b *BuiltIn) supervise(now signal.Time, speeds [4]float64, x *situation) (drive, shift bool) {
	s, f := &b.settings, &b.failsafe
	throttle := b.throttle.fresh(now, s.ThrottleTimeout)
	steer := b.steer.fresh(now, s.SteerTimeout)
	gain := b.gain.fresh(now, s.GainTimeout)
	yaw := b.yaw.fresh(now, s.YawTimeout)
	encodersLost := b.encodersLost(now, speeds)
	if !f.started {
		f.started = throttle && (steer && gain && yaw || b.has(drivesAtOnce))
		if !f.started {
			return false, false
		}
	}
	atIdle := throttle && x.throttle <= s.ThrottleAtIdle
	f.idle = b.latch(f.idle, !throttle && !b.has(throttleHeld), atIdle)
	f.noShift = b.latch(f.noShift,
		!steer && !b.has(steerHeld) ||
			!gain ||
			!yaw && !b.has(yawHeld) ||
			b.yaw.frozen(s.YawFrozen) && !b.has(frozenBelieved) ||
			encodersLost && !b.has(encoderLossUnnoticed), atIdle)
	return !f.idle, !f.noShift
}

// latch returns whether a failsafe that was tripped or not is so now, given
// whether its cause is present.
func (b *BuiltIn) latch(tripped, cause, atIdle bool) bool {
	if cause || !tripped {
		return cause
	}
	if b.has(neverRecovers) {
		return true
	}
	switch b.settings.Recovers {
	case AtThrottleAtIdle:
		return !atIdle
	case AtPowerCycle:
		return true
	}
	return false
}

// encodersLost reports whether a wheel has not got on for EncoderTimeout, during
// all of which the others were turning.
func (b *BuiltIn) encodersLost(now signal.Time, speeds [4]float64) (lost bool) {
	s, f := &b.settings, &b.failsafe
	sum := 0.0
	for _, v := range speeds {
		sum += math.Abs(v)
	}
	for i := range b.encoders {
		fast := (sum-math.Abs(speeds[i]))/3 > s.EncoderOthers
		if fast && !f.fast[i] {
			f.fastSince[i] = now
		}
		f.fast[i] = fast
		if fast && now-max(b.encoders[i].gotOn, f.fastSince[i]) > s.EncoderTimeout {
			lost = true
		}
	}
	return lost
}

// silent reports whether no pulses are to be sent.
func (b *BuiltIn) silent() bool {
	s, f := &b.settings, &b.failsafe
	return !f.started && s.StartState == Silent || f.idle && s.SafeState == Silent
}
