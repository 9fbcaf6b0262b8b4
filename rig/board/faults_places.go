package board

import "math"

// The seeded faults that show at a place alone: at some speeds, throttles or steer angles, or where the wheels turn apart. The
// numbers of their places are invented.
const (
	capAlways fault = fault(len(seeded)) + iota
	capLate
	countJitters
	countWraps
	gapInPower
	gapInSpeed
	gapInThrottle
	reversedInPower
	reversedInSpeed
	reversedInThrottle
	slowLoopFast
	speedClipped
	speedOfOneAxle
	speedOfOneWheel
	standstillFifth
	standstillTwice
	steerClipped
	steerDeadZone
	yawClipped
	yawWraps
	yawZeroedDriving
)

// seededAtPlaces lists them in the order of the constants, sorted by name.
var seededAtPlaces = [...]Fault{
	{"cap_always", "The cap on the commands holds with the wheels straight too.", "cap"},
	{"cap_late", "The cap on the commands holds above 6 deg of steering only.", "cap"},
	{"count_jitters", "The count of the front right encoder jitters by up to 16 counts from one turn of the loop to the next.", "demand"},
	{"count_wraps", "The count of the rear left encoder is kept in 16 bits, and where it wraps the wheel is taken to leap.", "demand"},
	{"gap_in_power", "Above 5 m/s and 60 % of throttle together no torque is shifted.", "understeer"},
	{"gap_in_speed", "From 9 to 11 m/s no torque is shifted.", "understeer"},
	{"gap_in_throttle", "From 55 to 75 % of throttle no torque is shifted.", "understeer"},
	{"reversed_in_power", "Above 5 m/s and 60 % of throttle together torque is shifted to the wrong side.", "understeer"},
	{"reversed_in_speed", "From 9 to 11 m/s torque is shifted to the wrong side.", "understeer"},
	{"reversed_in_throttle", "From 55 to 75 % of throttle torque is shifted to the wrong side.", "understeer"},
	{"slow_loop_fast", "Above 6 m/s the control loop runs at half its rate.", "loop_rate"},
	{"speed_clipped", "A speed above 10 m/s is taken for 10 m/s.", "demand"},
	{"speed_of_one_axle", "The speed is that of the front wheels, and of the rear ones where it has to be that of the front.", "demand"},
	{"speed_of_one_wheel", "The speed is that of the front right wheel alone.", "demand"},
	{"standstill_fifth", "Torque is shifted from a fifth of the standstill speed on.", "standstill"},
	{"standstill_twice", "Torque is shifted from twice the standstill speed on only.", "standstill"},
	{"steer_clipped", "A steer angle of more than 22 deg to the left is taken for 22 deg.", "demand"},
	{"steer_dead_zone", "A steer angle of less than 1.5 deg is taken for 0.", "straight"},
	{"yaw_clipped", "A yaw rate beyond 250 deg/s is taken for 250 deg/s.", "demand"},
	{"yaw_wraps", "A yaw rate beyond 256 deg/s wraps to the other side.", "demand"},
	{"yaw_zeroed_driving", "A slow yaw rate with the wheels straight is learnt as the sensor's offset while the car drives.", "demand"},
}

// places is what the faults at places keep from turn to turn of the loop.
type places struct {
	speed   float64 // m/s, without its sign
	offset  float64 // rad/s that is taken off the yaw rate
	counted int32   // of the rear left encoder
	jitter  float64 // counts that the front right encoder is off by
}

// miscounted does to the wheels' speeds what faults of their counts do.
func (b *BuiltIn) miscounted(speeds *[4]float64) {
	if b.has(countWraps) {
		count := b.encoders[rearLeft].count
		was, is := int32(int16(b.places.counted)), int32(int16(count))
		if way := count - b.places.counted; way != 0 {
			speeds[rearLeft] *= float64(is-was) / float64(way)
		}
		b.places.counted = count
	}
	if b.has(countJitters) {
		jitter := float64(float64(32*b.random.share()) - 16)
		leap := float64((jitter - b.places.jitter) * b.radPerCount[frontRight])
		speeds[frontRight] += float64(leap * b.settings.WheelRadius / b.settings.LoopPeriod.Seconds())
		b.places.jitter = jitter
	}
}

// misread does to the situation what faults of reading it do.
func (b *BuiltIn) misread(x *situation) {
	switch {
	case b.has(speedOfOneAxle) && b.settings.SpeedFrom == SpeedFrontMean:
		x.speed = SpeedRearMean.speed(&x.wheels)
	case b.has(speedOfOneAxle):
		x.speed = SpeedFrontMean.speed(&x.wheels)
	case b.has(speedOfOneWheel):
		x.speed = x.wheels[frontRight]
	}
	b.places.speed = math.Abs(x.speed)
	if b.has(speedClipped) {
		x.speed = min(x.speed, 10)
	}
	if b.has(steerClipped) {
		x.steer = min(x.steer, 22*radPerDegree)
	}
	if b.has(steerDeadZone) && math.Abs(x.steer) < 1.5*radPerDegree {
		x.steer = 0
	}
	if b.has(yawClipped) {
		x.yaw = min(max(x.yaw, -250*radPerDegree), 250*radPerDegree)
	}
	if b.has(yawWraps) {
		for ; x.yaw >= 256*radPerDegree; x.yaw -= 512 * radPerDegree {
		}
		for ; x.yaw < -256*radPerDegree; x.yaw += 512 * radPerDegree {
		}
	}
	if b.has(yawZeroedDriving) {
		if b.places.speed > 0.5 && math.Abs(x.steer) < 1*radPerDegree && math.Abs(x.yaw) < 15*radPerDegree {
			b.places.offset += float64((x.yaw - b.places.offset) * b.settings.LoopPeriod.Seconds()) // within a second
		}
		x.yaw -= b.places.offset
	}
}

// misplaced does to the shift what faults of whom and when to shift do.
func (b *BuiltIn) misplaced(x *situation, who signs, amount float64) (signs, float64) {
	speed := math.Abs(x.speed) >= 9 && math.Abs(x.speed) <= 11
	throttle := x.throttle >= 0.55 && x.throttle <= 0.75
	power := math.Abs(x.speed) > 5 && x.throttle > 0.6
	if speed && b.has(gapInSpeed) || throttle && b.has(gapInThrottle) || power && b.has(gapInPower) {
		return who, 0
	}
	if speed && b.has(reversedInSpeed) || throttle && b.has(reversedInThrottle) || power && b.has(reversedInPower) {
		return signs{who[frontRight], who[frontLeft], who[rearRight], who[rearLeft]}, amount
	}
	return who, amount
}

// standstill returns the speed in m/s below which there is no shift.
func (b *BuiltIn) standstill() float64 {
	switch {
	case b.has(standstillFifth):
		return b.settings.Standstill / 5
	case b.has(standstillTwice):
		return 2 * b.settings.Standstill
	}
	return b.settings.Standstill
}

// capAbove returns the magnitude of steer in rad above which the cap holds.
func (b *BuiltIn) capAbove() float64 {
	switch {
	case b.has(capAlways):
		return -1
	case b.has(capLate):
		return 6 * radPerDegree
	}
	return b.settings.CapAbove
}
