package file

import (
	"fmt"
	"math"

	"hilrig/assertions/law"
	"hilrig/suites/language"
)

const (
	// oftenPastLimit is the largest multiple of a limit of the demand that standard suites play as a yaw rate.
	oftenPastLimit = 1.5
	// fasterBy times as fast the car is taken to go next where it cannot be steered far enough, up to mostPastLimit.
	fasterBy      = 1.1
	mostPastLimit = 20.0 // m/s
	// slowestPastLimit is where a speed is looked for from on at which one of two limits acts, m/s.
	slowestPastLimit = 0.5
	// leastApart times one limit of the demand the other has to be, and what the steering asks for, for it to be told which acts.
	leastApart = 1.2
	// surelyPast times a limit the demand would come to where it surely stands at it, whatever its tolerance.
	surelyPast = 1.25
)

// limitWords are the keys of the policy's limits of the demand.
var limitWords = []string{"yaw_limit", "lateral_limit"}

// unlimited returns the law of the policy's demand without its limits.
func (n *nearWork) unlimited() *law.Law {
	free := *n.p.Demand
	free.LateralLimit, free.YawLimit, free.Within = 0, 0, 0
	return law.New(&law.Policy{Demand: &free}, law.Scale{})
}

// limitAt returns the size that the policy limits the demand to at a speed in m/s, rad/s; infinity where it does not.
func (n *nearWork) limitAt(speed float64) float64 {
	most := math.Inf(1)
	if a := n.p.Demand.LateralLimit; a > 0 {
		most = a / speed
	}
	if y := n.p.Demand.YawLimit; y > 0 {
		most = min(most, y)
	}
	return most
}

// pastLimit takes the steer angle, up to the car's lock, and with it the speed where that is a point, to where the demand without
// the policy's limits would come to a share of them. sensor is how far the yaw-rate sensor measures, rad/s.
func (n *nearWork) pastLimit(share, lock, sensor float64) {
	d := n.p.Demand
	switch {
	case d == nil:
		n.why = "the policy has no demand"
		return
	case d.LateralLimit == 0 && d.YawLimit == 0:
		n.why = "the policy limits no demand"
		return
	}
	open := n.unlimited()
	for speed := n.v.Speed; speed > 0 && speed <= mostPastLimit; speed *= fasterBy {
		limit := n.limitAt(speed)
		steer, ok := open.SteerFor(share*limit, speed)
		if ok && steer >= n.leastSteer() && steer <= lock && oftenPastLimit*limit <= sensor {
			n.v.Speed, n.v.Steer = speed, math.Copysign(steer, n.v.Steer)
			return
		}
		if !n.speed {
			break
		}
	}
	n.why = fmt.Sprintf("at no speed can the car be steered so far that the demand would come to %s of the policy's limit, with the yaw-rate sensor measuring beyond that", language.Share.Format(share))
}

// limitedBy takes speed and steer angle, up to the car's lock, to where one of the policy's two limits of the demand, by its key,
// lies farthest below the other, and below what the steer angle asks for, which is up to a share of it.
func (n *nearWork) limitedBy(key string, share, lock, sensor float64) {
	d := n.p.Demand
	if d == nil || d.LateralLimit == 0 || d.YawLimit == 0 {
		n.why = "the policy does not limit its demand both by yaw rate and by lateral acceleration"
		return
	}
	open, best := n.unlimited(), 0.0
	var at struct{ speed, steer float64 }
	for speed := slowestPastLimit; speed <= mostPastLimit; speed *= fasterBy {
		acts, other := d.YawLimit, d.LateralLimit/speed
		if key == "lateral_limit" {
			acts, other = other, acts
		}
		asks, _ := open.SteerFor(share*acts, speed)
		steer := min(asks, lock)
		apart := min(share*steer/asks, other/acts)
		if apart > best && n.past(speed, steer) && oftenPastLimit*acts <= sensor {
			best, at.speed, at.steer = apart, speed, steer
		}
	}
	if best < leastApart {
		n.why = fmt.Sprintf("at no speed does the policy's %s lie clearly below its other limit of the demand and below what the car can be steered to", key)
		return
	}
	n.v.Speed, n.v.Steer = at.speed, math.Copysign(at.steer, n.v.Steer)
}

// past says whether the policy counts a car neither as standing nor as going straight on at a speed in m/s and the size of a steer angle
// in rad, with the demand at its limit.
func (n *nearWork) past(speed, steer float64) bool {
	if s := n.p.StraightOn(); s != nil && s.Demand != nil && n.limitAt(speed) < beyondFade*(1+n.p.Demand.Within)*s.Demand.Full {
		return false
	}
	return speed >= n.leastSpeed() && steer >= n.leastSteer()
}

// atLimit takes the steer angle to where the demand surely stands at the policy's limit, at the speed that is asked for or the share slower of
// it that is tried. It returns false where the demand of what is asked for is short of all limits there.
func (n *nearWork) atLimit(slower, lock, sensor float64) bool {
	speed := n.v.Speed
	if n.speed {
		speed = max(slower*speed, n.leastSpeed())
	}
	open, limit, steer := n.unlimited(), n.limitAt(speed), math.Abs(n.v.Steer)
	free := *n.p.Demand
	free.LateralLimit, free.YawLimit = 0, 0
	if (1+free.Within)*math.Abs(free.YawRate(speed, steer)) <= shortOfLimit*limit {
		return false
	}
	if needs, _ := open.SteerFor(surelyPast*limit, speed); n.steer {
		steer = max(steer, needs)
	} else if steer < needs {
		return false
	}
	n.limited = true
	switch {
	case steer > lock || limit*(1+free.Within) > sensorShare*sensor || limit > n.mostInGripAt(speed) || !n.past(speed, steer) || !n.tells(speed, steer, oftenPlayed*limit):
		n.why = "the policy asks for no certain shift with the demand at its limit"
	default:
		n.v.Speed, n.v.Steer = speed, math.Copysign(steer, n.v.Steer)
	}
	return true
}
