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
)

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
	free := *d
	free.LateralLimit, free.YawLimit, free.Within = 0, 0, 0
	open := law.New(&law.Policy{Demand: &free}, law.Scale{})
	for speed := n.v.Speed; speed > 0 && speed <= mostPastLimit; speed *= fasterBy {
		limit := math.Abs(d.YawRate(speed, math.Copysign(math.Pi/2, n.v.Steer)))
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
