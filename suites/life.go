package suites

import (
	"cmp"
	"math"
	"slices"

	"hilrig/assertions"
	"hilrig/rig/interlock"
	"hilrig/suites/file"
	"hilrig/suites/standard"
)

// lifeShare is how much of the bench's motor limit the signs of life command at most.
const lifeShare = 0.8

// makeSignsOfLife makes a suite the signs of life where it is the one of the standard suites: it is
// played whatever else is left out, without the cases that the policy asks nothing of, and its
// steps are fitted to policy and bench.
func (s *Setup) makeSignsOfLife(suite *file.Suite) {
	if path, _, _ := standard.Source(standard.Life); suite.Source.Path != path {
		return
	}
	s.life = suite
	suite.Cases = slices.DeleteFunc(suite.Cases, func(c file.Case) bool { return !s.asks(&c) })
	for i := range suite.Cases {
		for j := range suite.Cases[i].Steps {
			s.fitLife(&suite.Cases[i].Steps[j])
		}
	}
}

// fitLife takes a step to where the policy lets the board answer: past the speed and the steer
// angle below which it declares no shift, and below the bench's motor limit where motors have
// their supply.
func (s *Setup) fitLife(step *file.Step) {
	p, v := &s.Car.Policy, &step.Values
	if p.Standstill != nil {
		v.Speed = max(v.Speed, 1.2*p.Standstill.Full)
	}
	if on := p.StraightOn(); on != nil && on.Steer != nil && v.Steer != 0 {
		v.Steer = math.Copysign(max(math.Abs(v.Steer), 1.2*on.Steer.Full), v.Steer)
	}
	if s.Bench.Power > interlock.SignalsOnly {
		v.Throttle = min(v.Throttle, lifeShare*cmp.Or(s.Bench.Interlock.MotorLimit, file.DefaultMotorLimit))
	}
}

// lifeUnplayed says why signs of life that are asked for cannot be played, so that nothing is
// shown; empty where they can, or where what keeps them from it is how the motors are powered.
func (s *Setup) lifeUnplayed(suite *file.Suite, c *file.Case) string {
	if suite != s.life || s.Bench.Power > c.UpTo {
		return ""
	}
	why := s.skipReason(c)
	if why == "" {
		return ""
	}
	return why + ", and without it nothing shows that the board answers"
}

// asks says whether the car's policy asks anything that a case expects.
func (s *Setup) asks(c *file.Case) bool {
	return slices.ContainsFunc(c.Expect, func(x file.Expectation) bool {
		branch, ok := x.Check.(assertions.PolicyBranch)
		planned := assertions.Plan(branch, &assertions.Evidence{Policy: &s.Car.Policy})
		return !ok || len(planned) == 0 || planned[0].Asked
	})
}
