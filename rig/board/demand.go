package board

import (
	"math"
	"slices"
)

// situation is what the control loop goes by.
type situation struct {
	throttle, gain float64    // shares
	steer          float64    // rad
	steerSpeed     float64    // rad/s, with SteerLead
	yaw            float64    // rad/s
	wheels         [4]float64 // m/s
	speed          float64    // m/s
}

// speed returns the car's speed by those of its wheels.
func (f SpeedFrom) speed(wheels *[4]float64) float64 {
	switch f {
	case SpeedFrontMean:
		return (wheels[frontLeft] + wheels[frontRight]) / 2
	case SpeedRearMean:
		return (wheels[rearLeft] + wheels[rearRight]) / 2
	case "", SpeedMean:
		return (wheels[0] + wheels[1] + wheels[2] + wheels[3]) / 4
	}
	sorted := *wheels
	slices.SortFunc(sorted[:], byMagnitude)
	return sorted[slices.Index([]SpeedFrom{SpeedSlowest, SpeedSecondSlowest, SpeedSecondFastest, SpeedFastest}, f)]
}

func byMagnitude(a, b float64) int {
	switch a, b = math.Abs(a), math.Abs(b); {
	case a < b:
		return -1
	case a > b:
		return 1
	}
	return 0
}

// demand returns the yaw rate in rad/s that the driver asks for.
func (b *BuiltIn) demand(x *situation) float64 {
	s := &b.settings
	steer, wheelbase := x.steer, s.Wheelbase
	if s.SteerLead != 0 {
		steer += float64(s.SteerLead.Seconds() * x.steerSpeed)
	}
	if b.has(degreesForRadians) {
		steer /= radPerDegree
	}
	if b.has(wrongWheelbase) {
		wheelbase *= 0.75
	}
	// At and beyond the critical speed of an oversteering car the formula has no answer.
	divisor := max(wheelbase+float64(s.UndersteerGradient*x.speed*x.speed), wheelbase/10)
	r := x.speed * steer / divisor
	if s.LateralLimit > 0 && x.speed != 0 {
		limit := math.Abs(s.LateralLimit / x.speed)
		r = min(max(r, -limit), limit)
	}
	if s.YawLimit > 0 {
		r = min(max(r, -s.YawLimit), s.YawLimit)
	}
	return r
}
