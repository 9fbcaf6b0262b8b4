package file

import (
	"cmp"
	"fmt"
	"math"

	"hilrig/assertions/law"
	"hilrig/stimulus"
	"hilrig/suites/language"
)

const (
	// beyondFade times where a fade ends is taken to be past it: sensors and firmware read
	// speed and steer angle with errors of their own.
	beyondFade = 1.2
	// shortOfLimit is how much of a limit of the demand is made use of.
	shortOfLimit = 0.85
	// sensorShare is how much of the yaw-rate sensor's range the demand takes, since yaw rates
	// of up to twice the demand are played.
	sensorShare = 0.45
	// oftenPlayed is the largest multiple of the demand that standard suites play, for what
	// the wheels' speeds come to.
	oftenPlayed = 1.8
	// slowInGrip is how much of the demand up to which no wheel is cut a car that all but stands makes use of.
	slowInGrip = 0.5
	// withinLock is how much of its lock the car is steered.
	withinLock = 0.95
	// mostBehind bounds by what share of the speed a wheel is taken to go slower than the car.
	mostBehind = 0.5
)

// near takes speed and steer angle to where the policy asks for the whole shift, as far as the
// step, which its file writes so, writes them as points.
func (b *caseBuilder) near(s *Step, written *language.Mapping) {
	if s.points.speed == nil && s.points.steer == nil && b.spinOf(written) == nil || b.car == nil {
		return
	}
	n := nearWork{p: &b.car.Policy, v: &s.Values, slowest: s.slowest(), fastest: s.fastest(), speed: s.points.speed != nil, steer: s.points.steer != nil}
	standing := n.speed && s.points.speed.Mapping.Table == speedStanding
	if standing {
		n.speed = false
		n.standing(s.points.speed.Mapping.Number("standstill"))
	}
	spin, why := b.spin(written)
	n.spin, n.why = spin, cmp.Or(n.why, why)
	lock := withinLock * b.car.lock()
	if n.steer {
		n.v.Steer = b.place.steered * min(max(n.v.Steer, -lock), lock)
	}
	n.track = max(b.car.Car.FrontTrack, b.car.Car.RearTrack)
	n.most, n.tells = n.limit(b.bench), b.tellsWheels
	n.pastFades()
	sensor := sensorsYaw(b.bench)
	switch past := n.steer && s.points.steer.Mapping.Table == steerPast; {
	case n.speed && s.points.speed.Mapping.Table == speedLimited:
		if !past {
			b.Report(s.points.speed.Node, "a speed at which one limit of the demand acts is found together with a steer angle past that", "write steer: {past_limit: 200 %}")
			break
		}
		n.limitedBy(s.points.speed.Mapping.Word("limited_by"), s.points.steer.Mapping.Number("past_limit"), lock, sensor)
	case past:
		n.pastLimit(s.points.steer.Mapping.Number("past_limit"), lock, sensor)
	case n.p.Demand == nil || s.Values.Speed <= 0 || s.Values.Steer == 0 || n.spin > 0:
	case standing:
		n.inGrip()
	case b.ofCaps() && n.inReach(sensor):
	case b.place.limited > 0 && n.atLimit(b.place.limited, lock, sensor):
		s.limited = true
	default:
		n.inDemand()
	}
	if n.spin > 0 {
		n.spins()
	}
	s.noPoint, s.lowered = n.why, n.lowered
}

// inReach says whether the demand, with the policy's limits, is one at which the sensors measure what is played and no wheel is cut, for
// what asks for no certain demand.
func (n *nearWork) inReach(sensor float64) bool {
	demand := (1 + n.p.Demand.Within) * math.Abs(n.p.Demand.YawRate(n.v.Speed, n.v.Steer)) * n.fastest
	return demand <= sensorShare*sensor && demand <= n.mostInGrip() && n.tells(n.v.Speed*n.fastest, n.v.Steer, demand)
}

// nearWork is a speed and a steer angle that are taken to where the whole shift is asked for.
type nearWork struct {
	p            *law.Policy
	v            *stimulus.Values
	speed, steer bool // may be changed
	track        float64
	most         float64 // rad/s: of the demand
	// slowest and fastest are how many times as fast as they would roll freely the wheels go that slip most either way, up to
	// 1 and from 1.
	slowest, fastest float64
	spin             float64                              // rad/s: the yaw rate that is played whatever the demand; 0: one that goes with the demand
	tells            func(speed, steer, yaw float64) bool // whether the sensors of the wheels tell how fast they turn
	limited, lowered bool                                 // the demand stands at its limit, and the speed was lowered to keep it short of its limits
	why              string
}

// standing takes the speed to a share of that below which there is no shift.
func (n *nearWork) standing(share float64) {
	if n.p.Standstill == nil {
		n.why = "the policy has no standstill"
		return
	}
	n.v.Speed = float64(share * n.p.Standstill.From)
}

// pastFades takes both past where the policy lets the shift come in.
func (n *nearWork) pastFades() {
	if n.steer && n.v.Steer != 0 {
		n.v.Steer = math.Copysign(max(math.Abs(n.v.Steer), n.leastSteer()), n.v.Steer)
	}
	if f := n.p.Standstill; f != nil && n.speed && n.v.Speed != 0 {
		n.v.Speed = math.Copysign(max(math.Abs(n.v.Speed), n.leastSpeed()), n.v.Speed)
	}
}

// leastSpeed returns the speed from which every wheel is past the fade, since firmware may take the speed of the
// slowest.
func (n *nearWork) leastSpeed() float64 {
	f := n.p.Standstill
	if f == nil {
		return 0
	}
	least := beyondFade * max(f.From, f.Full)
	return least / max(n.slowest*(1-min(n.slowestBehind(least), mostBehind)), mostBehind*mostBehind)
}

// slowestBehind returns by what share of a speed the slowest wheel goes slower than the car: that of an inner
// wheel at the yaw rates that are played, and that of a wheel which is steered.
func (n *nearWork) slowestBehind(speed float64) float64 {
	behind := float64(n.v.Steer * n.v.Steer / 2) // no less than what the cosine lacks to 1
	if d := n.p.Demand; d != nil && speed > 0 {
		behind += float64(oftenPlayed * math.Abs(d.YawRate(speed, n.v.Steer)) * n.track / (2 * speed))
	}
	return behind
}

func (n *nearWork) leastSteer() float64 {
	if s := n.p.StraightOn(); s != nil && s.Steer != nil {
		return beyondFade * s.Steer.Full
	}
	return 0
}

// limit returns the largest demand that is played, rad/s, by the policy's limit and the sensor's range.
func (n *nearWork) limit(bench *Bench) float64 {
	most := math.Inf(1)
	if d := n.p.Demand; d != nil && d.YawLimit > 0 {
		most = shortOfLimit * d.YawLimit / (1 + d.Within)
	}
	return min(most, sensorShare*sensorsYaw(bench))
}

// sensorsYaw returns how far the yaw-rate sensor of a bench measures either way, rad/s; infinity where that is not known.
func sensorsYaw(bench *Bench) float64 {
	most := math.Inf(1)
	if bench == nil {
		return most
	}
	for i := range bench.Wiring.Frames {
		for _, f := range bench.Wiring.Frames[i].Carrying() {
			if f.Channel != "yaw_rate" {
				continue
			}
			if low, high := limits(f); high > 0 && low < 0 {
				most = min(most, min(high, -low))
			}
		}
	}
	return most
}

// inDemand takes the demand past what counts as straight on and short of what limits it.
func (n *nearWork) inDemand() {
	d := *n.p.Demand
	within := d.Within
	d.LateralLimit, d.YawLimit, d.Within = 0, 0, 0
	open := law.New(&law.Policy{Demand: &d}, law.Scale{})
	side := math.Copysign(1, n.v.Steer)
	if s := n.p.StraightOn(); s != nil && s.Demand != nil {
		if least := beyondFade * (1 + within) * s.Demand.Full; math.Abs(d.YawRate(n.v.Speed, n.v.Steer)) < least {
			n.setDemand(open, least*side)
		}
	}
	most := n.most / n.fastest
	if a := n.p.Demand.LateralLimit; a > 0 {
		most = min(most, shortOfLimit*a/((1+within)*n.v.Speed*n.fastest))
	}
	most = min(most, n.mostInGrip())
	if was := n.v.Speed; math.Abs(d.YawRate(n.v.Speed, n.v.Steer)) > most {
		n.setDemand(open, most*side)
		n.lowered = n.v.Speed < was
	}
	if s := n.p.StraightOn(); n.why == "" && s != nil && s.Demand != nil && math.Abs(d.YawRate(n.v.Speed, n.v.Steer)) < s.Demand.Full {
		n.why = "no demand lies past what the policy counts as straight on and short of its limits"
	}
}

// mostInGrip returns the demand up to which no wheel goes so much faster than another, by what share those inside and outside
// go at other speeds than the car, that traction control may cut its motor.
func (n *nearWork) mostInGrip() float64 { return n.mostInGripAt(n.v.Speed) }

// mostInGripAt returns it at a speed in m/s.
func (n *nearWork) mostInGripAt(speed float64) float64 {
	if t := n.p.TractionControl; t != nil && n.track > 0 {
		if left := (1+*t)*n.slowest/n.fastest - 1; left > 0 { // else it may cut whatever is demanded
			return shortOfLimit * left * speed / (oftenPlayed * n.track)
		}
	}
	return math.Inf(1)
}

// inGrip takes the steer angle of a car that all but stands to where traction control leaves the motors alone.
func (n *nearWork) inGrip() {
	d := n.p.Demand
	// A wheel that all but stands is read by few edges, and so seldom well.
	if most := slowInGrip * n.mostInGrip(); n.steer && math.Abs(d.YawRate(n.v.Speed, n.v.Steer)) > most {
		n.v.Steer = math.Copysign(most*(d.Wheelbase+float64(float64(d.UndersteerGradient*n.v.Speed)*n.v.Speed))/n.v.Speed, n.v.Steer)
	}
}

// setDemand gives the demand a yaw rate, by the steer angle where that leaves it past its fade, else by
// the speed.
func (n *nearWork) setDemand(open *law.Law, yaw float64) {
	if n.steer {
		if steer, ok := open.SteerFor(yaw, n.v.Speed); ok && math.Abs(steer) >= n.leastSteer() && math.Abs(steer) <= mostSteer {
			n.v.Steer = steer
			return
		}
	}
	if n.speed {
		if speed, ok := open.SpeedFor(yaw, n.v.Steer); ok && speed >= n.leastSpeed() {
			n.v.Speed = speed
			return
		}
	}
	n.why = fmt.Sprintf("no speed and steer angle near those of the case come to a demand of %s, which the policy's fades and limits leave", language.AngularRate.Format(yaw))
}

// mostSteer is as far as a steer angle is taken, rad: less than the lock of most cars.
const mostSteer = 20 * math.Pi / 180

// lock returns how far the car can be steered either way, rad, by its steering table.
func (c *Car) lock() float64 {
	right, left := math.Inf(1), math.Inf(-1)
	for _, p := range c.Car.Steering.Points {
		mean := (p.Left + p.Right) / 2
		right, left = min(right, mean), max(left, mean)
	}
	return max(min(-right, left), 0)
}
