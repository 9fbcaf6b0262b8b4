package board

import (
	"math"

	"hilrig/rig/signal"
)

// failsafe is what the firmware remembers of trouble.
type failsafe struct {
	started   bool           // all inputs have been seen
	idle      bool           // no drive
	tripped   [Losses]bool   // by each loss
	fast      [4]bool        // the other three wheels are above EncoderOthers,
	fastSince [4]signal.Time // and since when
	rests     bool           // it stands still,
	restSince signal.Time    // and since when
}

// supervise decides whether the motors may be driven and whether torque may
// be shifted.
func (b *BuiltIn) supervise(now signal.Time, speeds [4]float64, x *situation) (drive, shift bool) {
	s, f := &b.settings, &b.failsafe
	encodersLost := b.encodersLost(now, speeds)
	atIdle := b.throttle.fresh(now, s.ThrottleTimeout) && math.Abs(x.throttle) <= s.ThrottleAtIdle
	if !f.started {
		f.started = b.mayStart(now, x, atIdle)
		if !f.started {
			return false, false
		}
	}
	shift = true
	f.idle = false
	for l, cause := range b.lost(now, encodersLost) {
		l := Loss(l)
		f.tripped[l] = b.latch(s.recovers(l), f.tripped[l], cause, atIdle)
		if !f.tripped[l] {
			continue
		}
		switch s.then(l) {
		case ThenIdle:
			f.idle, shift = true, false
		case ThenNoShift:
			shift = false
		case GainAtValue:
			x.gain = s.GainValue
		}
	}
	return !f.idle, shift
}

// mayStart reports whether all that has to be seen after power-up has been seen.
func (b *BuiltIn) mayStart(now signal.Time, x *situation, atIdle bool) bool {
	s, f := &b.settings, &b.failsafe
	rests := math.Abs(x.speed) < restingSpeed && math.Abs(x.yaw) < restingYaw
	if !rests || !f.rests {
		f.rests, f.restSince = rests, now
	}
	throttle := b.throttle.fresh(now, s.ThrottleTimeout)
	if !throttle || b.has(drivesAtOnce) {
		return throttle
	}
	if s.ArmsAtIdle && !atIdle || s.AtRestFor > 0 && (!rests || now-f.restSince < s.AtRestFor) {
		return false
	}
	without := s.StartsWithout
	return (without.Steer || b.steer.fresh(now, s.SteerTimeout)) && (without.Gain || b.gain.fresh(now, s.GainTimeout)) &&
		(without.Yaw || b.yaw.fresh(now, s.YawTimeout))
}

// Below these, m/s and rad/s, the car stands still.
const (
	restingSpeed = 0.05
	restingYaw   = 5 * radPerDegree
)

// latch returns whether a failsafe that was tripped or not is so now, given
// whether its cause is present.
func (b *BuiltIn) latch(recovers Recovery, tripped, cause, atIdle bool) bool {
	if cause || !tripped {
		return cause
	}
	if b.has(neverRecovers) {
		return true
	}
	switch recovers {
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
