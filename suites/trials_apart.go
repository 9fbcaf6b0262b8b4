package suites

import (
	"slices"

	"hilrig/assertions"
	"hilrig/rig/signal"
	"hilrig/suites/file"
)

const (
	// apartFrames is how many of the slowest sensor's or receiver's frames stand between two
	// trials at least: one brings the change, and two more show where the board comes to.
	apartFrames = 3
	// apartAgain times the interval is what trials get that ran into each other.
	apartAgain = 4
	// mostApart is how often a case is played again with its trials farther apart.
	mostApart = 2
)

// smoothed returns how long answers go on by what the policy declares of a filter and a slew
// limit: a first-order lag has come within 2 % of its end after four time constants, and no
// trial takes a command through more than a quarter of its range (common practice, no source).
func (s *Setup) smoothed() signal.Time {
	if x := s.Car.Policy.Smoothing; x != nil {
		return 4*x.Filter + x.FullRangeIn/4
	}
	return 0
}

// atRest returns how long after a change a motor's frames tell how it stands before the next, where the bench says how
// often they come and the policy by when the board has answered.
func (s *Setup) atRest() signal.Time {
	if r := s.Car.Policy.Response; r != nil && s.Bench.MotorRate > 0 {
		return r.AtMost + signal.FromSeconds(assertions.RestFrames/s.Bench.MotorRate)
	}
	return 0
}

// spaceTrials lets the trials of all steps stand as far apart as the slowest sensor or
// receiver needs, and the motors' own frames, and what the policy declares of a filter.
func (s *Setup) spaceTrials() {
	least := max(apartFrames*s.Bench.SlowestWire(), s.atRest()) + s.smoothed()
	for _, suite := range s.Suites {
		for i := range suite.Cases {
			respace(suite.Cases[i].Steps, func(t *file.Trials) signal.Time { return max(t.Interval, least) })
		}
	}
}

// respace gives each step's trials another interval.
func respace(steps []file.Step, interval func(t *file.Trials) signal.Time) {
	for i := range steps {
		if t := steps[i].Trials; t != nil {
			other := *t
			other.Interval = interval(t)
			steps[i].Trials = &other
		}
	}
}

// fartherApart returns a copy of the case whose trials stand farther apart.
func fartherApart(c *file.Case) *file.Case {
	other := *c
	other.Steps = slices.Clone(c.Steps)
	respace(other.Steps, func(t *file.Trials) signal.Time { return apartAgain * t.Interval })
	return &other
}
