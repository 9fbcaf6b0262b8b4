package board

import (
	"math"

	"hilrig/rig/signal"
)

// control is one turn of the control loop.
func (b *BuiltIn) control(now signal.Time) {
	if b.stands(now) {
		return
	}
	b.serial.advance(now, b.parser)
	if b.settings.Bus.Line != "" {
		b.bus.advance(now, &b.channels)
	}
	speeds := b.readSpeeds(now)
	x := b.read(speeds)
	b.misread(&x)
	b.mistimed(now, &x)
	drive, shift := b.supervise(now, speeds, &x)
	shift = b.outlived(now, &x, shift)
	if !drive {
		b.command = b.shaper.keep(now, b.kicked(now, [4]float64{}))
		return
	}
	var who signs
	var amount float64
	if shift {
		who, amount = b.shift(&x)
		who, amount = b.misplaced(&x, who, amount)
	}
	amount = b.flawed(now, who, amount)
	if amount == 0 {
		b.grown = grown{}
	}
	b.command = b.shaper.commands(&b.settings.Shaping, b.settings.LoopPeriod, now, b.kicked(now, b.apply(&x, who, amount)))
}

// readSpeeds returns the four wheel speeds in m/s.
func (b *BuiltIn) readSpeeds(now signal.Time) (speeds [4]float64) {
	for i := range b.encoders {
		if b.settings.Wheels == Duty {
			speeds[i] = b.angles[i].read(now, b.settings.duty(i)) * b.settings.WheelRadius * b.settings.sense(i)
			continue
		}
		if w := b.settings.Timing.CountWindow; w > 0 {
			speeds[i] = b.encoders[i].countWindow(now, w, b.radPerCount[i]) * b.settings.WheelRadius * b.settings.sense(i)
			continue
		}
		speeds[i] = b.encoders[i].read(now, b.radPerCount[i]) * b.settings.WheelRadius * b.settings.sense(i)
	}
	if b.has(encoderDead) {
		speeds[rearLeft] = 0
	}
	b.miscounted(&speeds)
	return speeds
}

// read works out the situation from what the inputs last said.
func (b *BuiltIn) read(speeds [4]float64) situation {
	s := &b.settings
	x := situation{
		throttle: b.throttle.share(s.ThrottleIdle, s.ThrottleFull, s.lowest()),
		gain:     s.steppedGain(b.gain.share(s.GainLow, s.GainHigh, 0)),
		yaw:      b.yawRate(),
		wheels:   speeds,
		speed:    s.SpeedFrom.speed(&speeds),
	}
	x.steer, x.steerSpeed = b.steering()
	receiver, yaw := b.receiver.last(s.Timing.ReceiverEvery, &x), b.yawTask.last(s.Timing.YawEvery, &x)
	x.throttle, x.gain, x.steer, x.steerSpeed, x.yaw = receiver.throttle, receiver.gain, receiver.steer, receiver.steerSpeed, yaw.yaw
	if b.has(steerSign) {
		x.steer, x.steerSpeed = -x.steer, -x.steerSpeed
	}
	if b.has(yawSign) {
		x.yaw = -x.yaw
	}
	if b.has(slowFilter) {
		b.filtered += float64((x.yaw - b.filtered) / 16)
		x.yaw = b.filtered
	}
	x.yaw = b.shaper.yaw(&s.Shaping, s.LoopPeriod, x.yaw)
	return x
}

// yawRate returns what is believed of the yaw rate, rad/s.
func (b *BuiltIn) yawRate() float64 {
	if b.settings.YawFrame.general() {
		return float64(b.yaw.value) * yawUnit
	}
	return float64(b.yaw.value) / 16 * radPerDegree
}

// steering returns the steer angle in rad and how fast it changes in rad/s.
func (b *BuiltIn) steering() (angle, speed float64) {
	s := &b.settings
	slack := int64(s.SteerSlack / signal.Microsecond)
	if len(s.SteerTable) > 0 {
		us := signal.Time(b.steer.width) * signal.Microsecond
		angle = s.tableAngle(us)
		slope := (s.tableAngle(us+20*signal.Microsecond) - s.tableAngle(us-20*signal.Microsecond)) / 40
		if math.Abs(angle) <= float64(slack)*math.Abs(slope) {
			angle = 0
		}
		return angle, b.steer.speed() * slope
	}
	off := b.steer.width - int64(s.SteerCentre/signal.Microsecond)
	if off > slack || off < -slack {
		angle = s.steerOf(float64(off))
	}
	return angle, s.steerOf(b.steer.speed())
}

// steerOf returns the steer angle in rad that so many us of width stand for.
func (s *Settings) steerOf(us float64) float64 {
	return us / float64(int64(s.SteerSpan/signal.Microsecond)) * s.SteerAtSpan
}

// lowest returns the lowest throttle and command.
func (s *Settings) lowest() float64 {
	if s.BothWays {
		return -1
	}
	return 0
}

// sent returns the commands as they go to the lines in a frame that begins now.
func (b *BuiltIn) sent(now signal.Time) [4]float64 {
	c := b.shaper.sent(&b.settings.Shaping, now, b.command)
	if b.has(leftRight) {
		c[frontLeft], c[frontRight] = c[frontRight], c[frontLeft]
		c[rearLeft], c[rearRight] = c[rearRight], c[rearLeft]
	}
	return b.spoilt(c)
}
