package file

import (
	"slices"

	"hilrig/assertions"
	"hilrig/assertions/law"
	"hilrig/assertions/measure"
)

// better marks the expectations of a drive that is to be better with the board's shift than
// without it where they are not asked: of tyres that are only guessed nothing of the kind can be
// said, and a suite for any policy asks it where the policy says so.
func (b *caseBuilder) better(c *Case) {
	if b.car == nil {
		return
	}
	why := ""
	switch {
	case b.car.guessedTyres():
		why = "the tyres are guessed, and whether the car drives better rests on them; declare tyre in the car file"
	case b.anyPolicy && !b.car.Policy.DrivesBetter:
		why = "the policy does not say drives_better: yes"
	case b.gainOpen(c):
		why = "by the policy's gain_steps there may be no gain in this drive; play it at one that is surely a step above 0 %"
	default:
		return
	}
	c.Expect = slices.Clone(c.Expect) // that of the other variants as well
	for i := range c.Expect {
		if compares(c.Expect[i].Check) {
			c.Expect[i].NotAsked = why
		}
	}
}

// gainOpen says whether, the trim being a switch, the firmware may take the gain of some step of a
// case for one or for none.
func (b *caseBuilder) gainOpen(c *Case) bool {
	l := law.New(&b.car.Policy, law.Scale{})
	return slices.ContainsFunc(c.Steps, func(s Step) bool {
		gain := s.Values.Gain
		return l.At(&law.Inputs{Gain: measure.Interval{Low: gain, High: gain}}).Open&law.GainOpen != 0
	})
}

// compares says whether a check holds a drive against the same without the shift or a board.
func compares(c assertions.Check) bool {
	m, ok := c.(assertions.Measured)
	return ok && m.BetterThan != ""
}

// guessedTyres says whether the car file leaves its tyres out.
func (c *Car) guessedTyres() bool {
	return slices.ContainsFunc(c.Guessed, func(g Guess) bool { return g.Key == "tyre" })
}

// Compares says whether the case holds a drive against the same without the shift or a board, so
// that what it shows rests on the model of the car.
func (c *Case) Compares() bool {
	return slices.ContainsFunc(c.Expect, func(x Expectation) bool { return x.NotAsked == "" && compares(x.Check) })
}
