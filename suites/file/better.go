package file

import (
	"slices"

	"hilrig/assertions"
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
