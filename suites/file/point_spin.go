package file

import (
	"fmt"
	"math"
	"slices"

	"hilrig/assertions/law"
	"hilrig/rig/trace"
	"hilrig/stimulus/wire"
	"hilrig/suites/language"
)

const (
	// behindInSpin is the largest share of its speed by which a wheel goes slower than the car in a spin that is played: less than
	// firmware takes for a lost encoder; common practice, no source.
	behindInSpin = 0.25
	// toldBy is how much of half a turn a wheel goes at most from pulse to pulse of an angle sensor, for its direction to be told.
	toldBy = 0.9
	// leastGainInSpin is the least gain that is worked out for a spin: firmware may take a trim nearer to its end for the end; common
	// practice, no source.
	leastGainInSpin = 0.05
)

// spin returns the size of the yaw rate of a step that is a share of what the sensor measures, rad/s; 0 where it is none, and why
// not where it is to be one.
func (b *caseBuilder) spin(step *language.Mapping) (yaw float64, why string) {
	x := b.spinOf(step)
	if x == nil || b.bench == nil {
		return 0, ""
	}
	declared := b.bench.declaredYaw()
	if declared == 0 {
		return 0, "the bench declares no range of its yaw-rate sensor"
	}
	return float64(x.Mapping.Number("of_range") * declared), ""
}

// spinOf returns what is said of the yaw rate of a step that is a share of what the sensor measures; nil of another.
func (b *caseBuilder) spinOf(step *language.Mapping) *language.Value {
	if x := b.pick("yaw_rate", nil, step); isPoint(x) && x.Mapping.Table == yawOfRange {
		return x
	}
	return nil
}

// declaredYaw returns how far the yaw-rate sensor measures either way by the range that its field declares, rad/s; 0 where one
// declares none.
func (b *Bench) declaredYaw() float64 {
	for i := range b.Wiring.Frames {
		for _, f := range b.Wiring.Frames[i].Carrying() {
			if f.Channel == trace.YawRate.String() && f.Min == 0 && f.Max == 0 {
				return 0
			}
		}
	}
	if most := sensorsYaw(b); !math.IsInf(most, 0) {
		return most
	}
	return 0
}

// spins takes the speed to where no wheel goes far slower than the car for a yaw rate of spin, as far as it is a point.
func (n *nearWork) spins() {
	least := float64(float64(n.spin*n.track) / (2 * behindInSpin))
	demand := 0.0
	if d := n.p.Demand; d != nil {
		demand = math.Abs(d.YawRate(max(n.v.Speed, least), n.v.Steer))
	}
	switch speed := max(n.v.Speed, least); {
	case n.why != "":
	case n.v.Speed < least && (!n.speed || least > mostPastLimit):
		n.why = fmt.Sprintf("below %s a wheel goes far slower than the car at a yaw rate of %s", language.Speed.Format(least), language.AngularRate.Format(n.spin))
	case n.spin < oftenPastLimit*demand:
		n.why = fmt.Sprintf("the policy's demand comes near a yaw rate of %s", language.AngularRate.Format(n.spin))
	case !n.tells(speed, n.v.Steer, n.spin):
		n.why = fmt.Sprintf("the sensors of the wheels do not tell how fast they turn at %s and a yaw rate of %s", language.Speed.Format(speed), language.AngularRate.Format(n.spin))
	default:
		n.v.Speed = speed
	}
}

// tellsWheels says whether the sensors of the wheels tell how fast they turn at a speed in m/s, a steer angle in rad and a yaw rate in
// rad/s to either side.
func (b *caseBuilder) tellsWheels(speed, steer, yaw float64) bool {
	if b.bench == nil {
		return true
	}
	for _, yaw := range []float64{yaw, -yaw} {
		rates := b.car.Car.WheelRates(speed, yaw, steer)
		for w, e := range b.bench.Wiring.Encoders {
			if !tells(&e, math.Abs(rates[w])) {
				return false
			}
		}
	}
	return true
}

// tells says whether a sensor tells a wheel's rate in rad/s.
func tells(e *wire.WheelSensor, rate float64) bool {
	if e.Kind == wire.DutyWheel {
		return rate*e.Duty.Period.Seconds() < toldBy*math.Pi
	}
	return e.EdgeRate(rate) <= mostEdges
}

// gainInSpin has nothing asked of a spin at a gain that was worked out for it, of the steps that have the point x, at which firmware that keeps
// the policy may shift nothing: of a shift with a bound, which may go with the gain, and so near none that it is taken for that.
func (w *pointWork) gainInSpin(x *language.Value, gain float64) {
	spins := slices.ContainsFunc(w.c.Steps, func(s Step) bool {
		return s.points.gain == x && s.points.yaw != nil && s.points.yaw.Mapping.Table == yawOfRange
	})
	at := w.b.car.Policy.ShiftAt
	switch {
	case !spins:
	case at != nil && at.Grows > law.GrowthProportional:
		w.none("the policy's shift has a bound that may go with the gain, and the gain that is worked out for so large a yaw error is small")
	case gain < leastGainInSpin:
		w.none("the gain that is worked out for so large a yaw error is %s, and firmware may take one below %s for none", language.Share.Format(rounded(gain)), language.Share.Format(leastGainInSpin))
	}
}
