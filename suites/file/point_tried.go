package file

import (
	"slices"

	"hilrig/assertions"
	"hilrig/suites/language"
)

// place is one of the places at which the points of a case may be played, of which the first is taken at which the policy asks
// what the case expects.
type place struct {
	steered float64 // this times the steer angles that are points is played
	across  bool    // the yaw rates that are points near a share of the demand are played on the other side of the demand
	farther float64 // those that are to be clear of the demand are played this many times as far from it; 0 stands for 1
	limited float64 // above 0, the demand may stand at the policy's limit, at this times the speeds that are points
}

// lessDemand times a steer angle is tried next where no throttle has room for the largest shift, and leastDemand times it last.
const lessDemand, leastDemand = 0.8, 0.15

// fartherBy times as far from the demand a yaw rate that is to be clear of it is tried next, and farthest times at most: one 10 %
// off up to 60 %.
const fartherBy, farthest = 1.25, 6

// slowerBy times as fast a car whose demand stands at its limit is taken to go next where too little is asked, and slowest times as
// fast last.
const slowerBy, slowest = 0.85, 0.25

// one builds the case for the chosen values of each: as it is written, or where that has no room for its shifts and its
// steer angles are points, at the largest of them that leave it; where limits of the demand lower its speeds and its branches are all that
// is asked, with the demand at its limit; and where its yaw rates are points, where most is asked.
func (b *caseBuilder) one(variant string) Case {
	c, room := b.inRoom(variant, place{})
	if b.mayBeLimited() && (!room || c.lowered() || b.asked(&c) < b.expected()) {
		if other, ok := b.limited(variant); ok {
			return other
		}
	}
	if !c.yawIsPoint() {
		return c
	}
	asked, all := b.asked(&c), b.expected()
	if room && asked >= all {
		return c
	}
	best := c
	try := func(at place) {
		if other, _ := b.inRoom(variant, at); b.asked(&other) > asked {
			best, asked = other, b.asked(&other)
		}
	}
	if c.yawIsPointOf(yawPoint) {
		try(place{across: true})
	}
	for farther := fartherBy; c.yawIsPointOf(yawClear) && farther <= farthest && asked < all; farther *= fartherBy {
		try(place{farther: farther})
	}
	return best
}

// limited builds the case with the demand at its limit, at the speed nearest to those that are written at which all is asked; ok is false
// where there is none, or the demand is short of its limits.
func (b *caseBuilder) limited(variant string) (c Case, ok bool) {
	for slower := 1.0; slower >= slowest; slower *= slowerBy {
		c, room := b.inRoom(variant, place{limited: slower})
		switch {
		case !slices.ContainsFunc(c.Steps, func(s Step) bool { return s.limited }):
			return c, false
		case room && b.asked(&c) == b.expected():
			return c, true
		}
	}
	return c, false
}

// lowered says whether limits of the demand lower the speed of a step.
func (c *Case) lowered() bool {
	return slices.ContainsFunc(c.Steps, func(s Step) bool { return s.lowered })
}

// ofBranches are the situations that are asked of the same with the demand at its limit as short of it.
var ofBranches = []string{"understeer", "oversteer", "on_demand", "opposite_lock"}

// mayBeLimited says whether all that a case expects may be asked with the demand at the policy's limit.
func (b *caseBuilder) mayBeLimited() bool {
	return b.limitsDemand() > 0 && b.expectsOnly(ofBranches)
}

// ofCaps says whether a case expects no more than caps, for which no certain demand is needed.
func (b *caseBuilder) ofCaps() bool { return b.expectsOnly([]string{"cap", "sum_cap"}) }

// expectsOnly says whether a case expects situations of some alone.
func (b *caseBuilder) expectsOnly(some []string) bool {
	return !slices.ContainsFunc(b.expect, func(x Expectation) bool {
		check, ok := x.Check.(assertions.PolicyBranch)
		return !ok || !slices.Contains(some, check.Of)
	})
}

// limitsDemand returns in how many ways the car's policy limits the demand.
func (b *caseBuilder) limitsDemand() (ways int) {
	if b.car == nil || b.car.Policy.Demand == nil {
		return 0
	}
	for _, limit := range []float64{b.car.Policy.Demand.YawLimit, b.car.Policy.Demand.LateralLimit} {
		if limit > 0 {
			ways++
		}
	}
	return ways
}

// inRoom builds the case at a place, at the largest of its steer angles, as far as they are points, that leave its shifts the room
// that they take; where none does, as it is written.
func (b *caseBuilder) inRoom(variant string, at place) (c Case, room bool) {
	b.place = at
	b.place.steered = 1
	if c, room = b.tried(variant); room || !c.steerIsPoint() {
		return c, room
	}
	for b.place.steered *= lessDemand; b.place.steered >= leastDemand; b.place.steered *= lessDemand {
		if less, room := b.tried(variant); room {
			return less, true
		}
	}
	return c, false
}

// steerIsPoint says whether the steer angle of all steps that turn is a point that may be a smaller one: one past a limit of the
// demand is not.
func (c *Case) steerIsPoint() bool {
	return !slices.ContainsFunc(c.Steps, func(s Step) bool {
		at := s.points.steer
		return s.Values.Steer != 0 && (at == nil || at.Mapping.Table == steerPast)
	})
}

// yawIsPoint says whether the yaw rate of any step is a point.
func (c *Case) yawIsPoint() bool {
	return slices.ContainsFunc(c.Steps, func(s Step) bool { return s.points.yaw != nil })
}

// yawIsPointOf says whether the yaw rate of any step is a point of a kind.
func (c *Case) yawIsPointOf(t *language.Table) bool {
	return slices.ContainsFunc(c.Steps, func(s Step) bool { return s.points.yaw != nil && s.points.yaw.Mapping.Table == t })
}

// expected returns how many expectations of the case the policy has the keys for.
func (b *caseBuilder) expected() (n int) {
	for i := range b.expect {
		if b.expect[i].NotAsked == "" {
			n++
		}
	}
	return n
}

// asked returns how many of them ask all that they may where the case is played.
func (b *caseBuilder) asked(c *Case) (n int) {
	if b.car == nil || b.bench == nil {
		return b.expected()
	}
	for i := range c.Expect {
		if slices.ContainsFunc(c.Planned(i, b.car, b.bench), func(p assertions.Planned) bool { return p.Asked && p.Only == nil }) {
			n++
		}
	}
	return n
}
