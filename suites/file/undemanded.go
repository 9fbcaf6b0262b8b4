package file

import (
	"math"
	"slices"
	"strings"

	"hilrig/assertions"
	"hilrig/stimulus"
	"hilrig/suites/language"
)

// undemanded tells whether a share of the demand has no meaning for v, as the car's policy
// declares no demand and it would not be 0.
func (b *caseBuilder) undemanded(v *stimulus.Values) bool {
	return b.car != nil && b.car.Policy.Demand == nil && v.Steer != 0 && v.Speed != 0
}

// wholeOf returns the yaw rate that the step's shares are of, in rad/s: the demand, or where
// the policy declares none that with which the car itself goes round. What no firmware shifts
// for is then known straight on alone, and there the baseline is held.
func (b *caseBuilder) wholeOf(s *Step, yaw *language.Value) float64 {
	if !isShareOfDemand(yaw) || !b.undemanded(&s.Values) {
		return s.Demand
	}
	s.own = true
	if s.Baseline {
		s.Values.Steer = 0
		return 0
	}
	return b.ownYawRate(&s.Values)
}

// ownYawRate returns the yaw rate in rad/s with which the car goes round at v, by its own
// single-track model and as far as its tyres have grip.
func (b *caseBuilder) ownYawRate(v *stimulus.Values) float64 {
	car := &b.car.Car
	base := car.FrontAxle + car.RearAxle
	length := base + float64(float64(car.SingleTrack().UndersteerGradient()*v.Speed)*v.Speed)
	if !(length > base/2) { // an oversteering car near its critical speed
		length = base
	}
	grip := math.Abs(car.Tyre.LateralMu * standardGravity / v.Speed)
	return min(max(v.Speed*v.Steer/length, -grip), grip)
}

// needDemand are the situations of which nothing can be said where the demand is not declared.
var needDemand = []string{"understeer", "oversteer", "on_demand", "opposite_lock", "at_the_limit", "dead_band", "demand", "follows", "monotone", "no_wind_up", "proportional"}

// withoutDemand marks the expectations of a case that cannot be asked as its yaw rates are
// shares of a demand that the policy does not declare.
func (c *Case) withoutDemand() {
	if !slices.ContainsFunc(c.Steps, func(s Step) bool { return s.own }) {
		return
	}
	c.Expect = slices.Clone(c.Expect) // that of the other variants as well
	for i := range c.Expect {
		switch check := c.Expect[i].Check.(type) {
		case assertions.InRange, assertions.NoJump, assertions.Measured:
			continue
		case assertions.PolicyBranch:
			if !slices.Contains(needDemand, check.Of) {
				continue
			}
		}
		c.Expect[i].NotAsked = "the policy has no demand"
	}
}

// Asked tells whether any of the case's expectations may ask something.
func (c *Case) Asked() bool {
	return slices.ContainsFunc(c.Expect, func(x Expectation) bool { return x.NotAsked == "" })
}

// Title says what is expected, in words: "opposite lock".
func (x *Expectation) Title() string {
	if check, ok := x.Check.(assertions.PolicyBranch); ok {
		return strings.ReplaceAll(check.Of, "_", " ")
	}
	return "by hand"
}
