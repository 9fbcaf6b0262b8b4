package moment

import (
	"math"

	"hilrig/rig/signal"
)

// inputs are what the law goes by.
type inputs struct {
	speed      float64 // m/s
	steer      float64 // rad
	throttle   float64 // share; 0 at idle
	gain       float64 // 0, 1/2 or 1
	yaw        float64 // rad/s, the last that was known
	yawPresent bool
	drive      bool // the motors may turn
}

// law is what the control law remembers.
type law struct {
	memory  float64 // of the integral, share
	present float64 // of the yaw rate: 1, and on its way to 0 while it is lost
}

// step takes one turn of that length and returns the motors' commands in the order of
// signal.Wheels, shares.
func (l *law) step(s *Settings, period signal.Time, in inputs) (command [4]float64) {
	dt := period.Seconds()
	if in.yawPresent {
		l.present = min(l.present+dt/s.YawFade.Seconds(), 1)
	} else {
		l.present = max(l.present-dt/s.YawFade.Seconds(), 0)
	}
	demand := s.demand(in.speed, in.steer)
	err := demand - in.yaw
	turning, rolling := s.turning(in.steer, demand), s.rolling(in.speed)
	l.remember(s, dt, turning, rolling, err, in)
	if !in.drive || in.throttle == 0 && !s.has(shiftAtIdle) {
		return command
	}
	m := in.gain * turning * rolling * l.present * (float64(s.Proportional*err) + l.memory)
	if s.has(lockIgnored) && demand*in.yaw < 0 {
		m = 0
	}
	m = s.misplaced(m, &in)
	return s.mix(in.throttle, min(max(m, -s.MomentLimit), s.MomentLimit))
}

// remember moves the memory of the integral on.
func (l *law) remember(s *Settings, dt, turning, rolling, err float64, in inputs) {
	kept := s.has(integralKept)
	switch {
	case !in.drive, in.speed < s.clearBelow() && !kept, in.gain == 0, l.present == 0:
		l.memory = 0
	case (in.throttle == 0 || turning == 0) && !kept:
		l.memory -= float64(l.memory * min(dt/s.BleedTime.Seconds(), 1))
	case in.yawPresent:
		rate := s.Integral
		if s.has(integralSign) {
			rate = -rate
		}
		l.memory += float64(rate * turning * rolling * err * dt)
		if !s.has(integralUnbounded) {
			l.memory = min(max(l.memory, -s.IntegralLimit), s.IntegralLimit)
		}
	}
}

// demand returns the yaw rate that the driver asks for, rad/s.
func (s *Settings) demand(speed, steer float64) float64 {
	gradient := s.UndersteerGradient
	if s.has(gradientMissing) {
		gradient = 0
	}
	r := speed * steer / (s.Wheelbase + float64(gradient*speed*speed))
	if s.has(demandUnclipped) {
		return r
	}
	return min(max(r, -s.YawLimit), s.YawLimit)
}

// turning returns how much of the shift there is for the steer angle and the demand, 0 to 1.
func (s *Settings) turning(steer, demand float64) float64 {
	if s.has(bandMissing) {
		return 1
	}
	return fade(math.Abs(steer), s.SteerNone, s.SteerFull) * fade(math.Abs(demand), s.DemandNone, s.DemandFull)
}

// rolling returns how much of the shift there is for the speed, 0 to 1.
func (s *Settings) rolling(speed float64) float64 {
	if s.has(fadeLate) {
		return fade(speed, float64(3*s.FadeFrom), float64(3*s.FadeTo))
	}
	if s.has(fadeEarly) {
		return fade(speed, float64(s.FadeFrom/5), float64(s.FadeTo/5))
	}
	return fade(speed, s.FadeFrom, s.FadeTo)
}

// fade goes from 0 at none to 1 at full.
func fade(x, none, full float64) float64 {
	return min(max((x-none)/(full-none), 0), 1)
}
