package assertions

import (
	"fmt"
	"strings"

	"hilrig/assertions/law"
	"hilrig/assertions/measure"
	"hilrig/plant"
)

// clearlyElsewhere is by how much of the demand that of other wheels has to lie beyond what a policy allows for a sweep to
// tell them apart: some times what a sweep is commonly uncertain by.
const clearlyElsewhere = 0.01

// slips says whether wheels turn faster or slower in a step than they would roll freely.
func (s *Step) slips() bool { return s.Slip != [4]float64{} }

// byWheels ends the name of what is asked of the demand in a step whose wheels slip: the wheels by which the policy has it.
func (b *branch) byWheels() string {
	if !b.s.slips() {
		return ""
	}
	return " by " + takenOf(b.p.Demand.SpeedFrom)
}

// takenOf names the speed that firmware takes.
func takenOf(from law.SpeedFrom) string {
	switch from {
	case law.SpeedFromMean:
		return "the mean of all wheels"
	case law.SpeedFromFront:
		return "the front wheels"
	case law.SpeedFromRear:
		return "the rear wheels"
	}
	return "the " + strings.ReplaceAll(from.String(), "_", " ") + " wheel"
}

// wheelsAlike says why a sweep in which wheels slip does not tell by which of them the firmware takes the speed; empty where it
// does, and where none slips.
func (w *sweep) wheelsAlike() string {
	switch {
	case !w.s.slips():
		return ""
	case w.p.Demand.SpeedFrom == 0:
		return "the policy's demand has no speed_from, and wheels slip in this step, so that what is demanded may be anything from that by the slowest wheel to that by the fastest"
	case w.e.Car == nil:
		return "wheels slip in this step, and the car is not known, by which their speeds would be"
	case len(w.elsewhere()) == 0:
		return fmt.Sprintf("of whichever wheels the firmware takes the speed, with this slip its demand lies within the %s to %s deg/s that are allowed", degrees(w.allowed.Low), degrees(w.allowed.High))
	}
	return ""
}

// elsewhere returns the words for the speed by which the demand in a sweep lies clearly beyond what the policy allows.
func (w *sweep) elsewhere() (words []law.SpeedFrom) {
	for from := law.SpeedFromMean; from <= law.SpeedFromFastest; from++ {
		p := outBy(w.p, 1, from)
		d, clearly := w.e.onDemand(&p, w.s), clearlyElsewhere*w.sign*w.demand
		if from != w.p.Demand.SpeedFrom && (d < w.allowed.Low-clearly || d > w.allowed.High+clearly) {
			words = append(words, from)
		}
	}
	return words
}

// otherWheels names the wheels by whose speed the demand in a sweep would be what was found; empty where there are none.
func (w *sweep) otherWheels(found measure.Interval) string {
	if !w.s.slips() || w.e.Car == nil {
		return ""
	}
	is := func(d float64) bool {
		return d >= found.Low-nearWheel*w.sign*w.demand && d <= found.High+nearWheel*w.sign*w.demand
	}
	for _, from := range w.elsewhere() {
		if p := outBy(w.p, 1, from); is(w.e.onDemand(&p, w.s)) {
			return "the speed by " + takenOf(from)
		}
	}
	for _, one := range plant.Wheels {
		d := w.p.Demand.OnDemand(w.s.Speed, w.s.Steer, func(yaw float64) [4]float64 {
			v := w.e.hubsMeant(w.s, yaw)[one]
			return [4]float64{v, v, v, v}
		})
		if is(d) && !(d >= w.allowed.Low && d <= w.allowed.High) {
			return "the speed by the " + strings.ReplaceAll(one.String(), "_", " ") + " wheel alone"
		}
	}
	return ""
}

// nearWheel is how near what was found a demand has to lie to be what made it, as a share of the demand.
const nearWheel = 0.01
