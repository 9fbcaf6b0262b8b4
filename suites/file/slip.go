package file

import (
	"fmt"

	"hilrig/assertions"
	"hilrig/plant"
	"hilrig/suites/language"
)

// slip reads by what share the wheels turn faster than they would roll freely. side is -1 in the mirror image, in which the
// wheels change sides at once: what is worked out of a step's speed needs them where they are.
func (b *caseBuilder) slip(s *Step, over, step *language.Mapping, side float64) {
	x := b.pick("slip", over, step)
	if x == nil || x.Mapping == nil {
		return
	}
	if b.v.Flag("closed") {
		b.Report(x.Node, "slip has no meaning in closed loop, in which the wheels turn as the model of the car has them", "leave it out, or closed: yes")
		return
	}
	for _, w := range plant.Wheels {
		axle := "rear"
		if w == plant.FrontLeft || w == plant.FrontRight {
			axle = "front"
		}
		one, both := x.Mapping.Get(w.String()), x.Mapping.Get(axle)
		said := one
		if one == nil {
			said = both
		}
		switch {
		case said == nil:
			continue
		case one != nil && both != nil:
			b.Report(one.Node, fmt.Sprintf("slip says twice how %s turns, at %s and at %s", w, axle, w), "leave one of them out")
		case s.Wheels[w] != nil:
			b.Report(said.Node, fmt.Sprintf("%s has a rate of its own in this step, of which there is no slip", w), "leave out its slip, or its rate among the wheels")
		}
		to := int(w)
		if side < 0 {
			to = otherSide(to)
		}
		s.Slip[to] = said.Number
	}
}

// takes works out how many times as fast as the car by its slipping wheels firmware takes it to go that keeps the policy, the car turning
// as is demanded.
func (b *caseBuilder) takes(s *Step) {
	if b.car == nil || b.car.Policy.Demand == nil || s.Slip == [4]float64{} || s.Values.Speed == 0 {
		return
	}
	hubs := b.car.Car.HubSpeeds(s.Values.Speed, s.Demand, s.Values.Steer)
	s.taken = b.car.Policy.Demand.SpeedFrom.Of(assertions.Slipping(hubs, &s.Slip)) / s.Values.Speed
}

// fastest returns how many times as fast as it would roll freely the wheel of a step goes that slips most that way, at least 1.
func (s *Step) fastest() float64 { return 1 + max(s.Slip[0], s.Slip[1], s.Slip[2], s.Slip[3], 0) }

// slowest returns the same of the wheel that goes slowest, at most 1.
func (s *Step) slowest() float64 { return 1 + min(s.Slip[0], s.Slip[1], s.Slip[2], s.Slip[3], 0) }
