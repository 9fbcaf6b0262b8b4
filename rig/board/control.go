package board

import (
	"math"
	"slices"

	"hilrig/rig/signal"
)

// control is one turn of the control loop.
func (b *BuiltIn) control(now signal.Time) {
	b.serial.advance(now, &b.parser)
	if b.settings.Bus.Line != "" {
		b.bus.advance(now, &b.channels)
	}
	speeds := b.readSpeeds(now)
	x := b.read(speeds)
	drive, shift := b.supervise(now, speeds, &x)
	if !drive {
		b.command = b.shaper.keep(now, [4]float64{})
		return
	}
	var who signs
	var amount float64
	if shift {
		who, amount = b.shift(&x)
	}
	b.command = b.shaper.commands(&b.settings.Shaping, b.settings.LoopPeriod, now, b.apply(&x, who, amount))
}

// readSpeeds returns the four wheel speeds in m/s.
func (b *BuiltIn) readSpeeds(now signal.Time) (speeds [4]float64) {
	for i := range b.encoders {
		if b.settings.Wheels == Duty {
			speeds[i] = b.angles[i].read(now, &b.settings.WheelDuty) * b.settings.WheelRadius
			continue
		}
		speeds[i] = b.encoders[i].read(now, b.radPerCount) * b.settings.WheelRadius
	}
	if b.has(encoderDead) {
		speeds[rearLeft] = 0
	}
	return speeds
}

// read works out the situation from what the inputs last said.
func (b *BuiltIn) read(speeds [4]float64) situation {
	s := &b.settings
	x := situation{
		throttle: b.throttle.share(s.ThrottleIdle, s.ThrottleFull),
		gain:     b.gain.share(s.GainLow, s.GainHigh),
		yaw:      float64(b.yaw.value) / 16 * radPerDegree,
		speed:    (speeds[0] + speeds[1] + speeds[2] + speeds[3]) / 4,
	}
	off := b.steer.width - int64(s.SteerCentre/signal.Microsecond)
	if slack := int64(s.SteerSlack / signal.Microsecond); off > slack || off < -slack {
		x.steer = float64(off) / float64(int64(s.SteerSpan/signal.Microsecond)) * s.SteerAtSpan
	}
	if b.has(steerSign) {
		x.steer = -x.steer
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

// apply returns the four commands, shares of range.
func (b *BuiltIn) apply(x *situation, who signs, amount float64) (command [4]float64) {
	s := &b.settings
	limit, floor := 1.0, 0.0
	if math.Abs(x.steer) > s.CapAbove && !b.has(noCap) {
		limit = s.Cap
	}
	if x.throttle >= s.Floor {
		floor = s.Floor
	}
	base := min(x.throttle, limit)
	raise, lower := amount, amount
	if s.AtTheLimit == LimitMovePartner {
		if slices.Max(who[:]) > 0 && base+amount > limit {
			lower = 2 * amount
		}
		if slices.Min(who[:]) < 0 && base-amount < floor {
			raise = 2 * amount
		}
	}
	if b.has(partnerStays) && base+amount > limit {
		lower = 0
	}
	if b.has(sumLost) {
		lower = 0
	}
	for m, sign := range who {
		c := base
		switch {
		case sign > 0:
			c += float64(float64(sign) * raise)
		case sign < 0:
			c += float64(float64(sign) * lower)
		}
		if c < 0 && b.has(wrapBelowZero) {
			c = float64(uint16(int32(c*1000))) / 1000 // thousandths of range in an unsigned 16 bit value
		}
		command[m] = min(max(c, floor), limit)
	}
	if b.has(motorsUnequal) {
		command[frontRight] *= 0.95
	}
	return command
}

// sent returns the commands as they go to the lines in a frame that begins now.
func (b *BuiltIn) sent(now signal.Time) [4]float64 {
	c := b.shaper.sent(&b.settings.Shaping, now, b.command)
	if b.has(leftRight) {
		c[frontLeft], c[frontRight] = c[frontRight], c[frontLeft]
		c[rearLeft], c[rearRight] = c[rearRight], c[rearLeft]
	}
	return c
}
