package file

import (
	"fmt"
	"slices"

	"hilrig/assertions"
	"hilrig/assertions/law"
	"hilrig/stimulus/wire"
	"hilrig/suites/language"
)

// tellsWay says whether any of the bench's wheel sensors tells the sense of rotation.
func (b *Bench) tellsWay() bool {
	return slices.ContainsFunc(b.Wiring.Encoders[:], func(w wire.WheelSensor) bool { return w.Kind != wire.TachoWheel })
}

// unturned marks the expectations of rolling backwards where none of the bench's wheel sensors
// tells the sense of rotation: no board could know of it.
func (b *caseBuilder) unturned(c *Case) {
	if b.bench == nil || b.bench.tellsWay() {
		return
	}
	c.Expect = slices.Clone(c.Expect) // that of the other variants as well
	for i := range c.Expect {
		if branch, ok := c.Expect[i].Check.(assertions.PolicyBranch); ok && branch.Of == "reverse" {
			c.Expect[i].NotAsked = "the bench's wheel sensors do not tell the sense of rotation"
		}
	}
}

// LintWay returns what of a car's policy no board can keep on a bench whose wheel sensors do not tell the sense of rotation: to do
// another thing backwards than forwards. To do as forwards takes no sense.
func LintWay(b *Bench, c *Car) language.Warnings {
	reverse := c.Policy.Reverse
	if b.tellsWay() || reverse == 0 || reverse == law.ReverseAsForward {
		return nil
	}
	return language.Warnings{c.Source.Shown(language.Problem{
		Place: c.places["reverse"], Value: reverse.String(), Level: language.Warning,
		Message: fmt.Sprintf("what to do when the car rolls backwards takes the sense in which its wheels turn, which the tachos in %s do not tell: no board can keep it", b.Source.Path),
		Remedy:  "leave reverse out, or declare other encoders",
	})}
}
