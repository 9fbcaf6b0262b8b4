package file

import (
	"slices"

	"hilrig/assertions"
	"hilrig/stimulus/wire"
)

// unturned marks the expectations of rolling backwards where none of the bench's wheel sensors
// tells the sense of rotation: no board could know of it.
func (b *caseBuilder) unturned(c *Case) {
	if b.bench == nil || slices.ContainsFunc(b.bench.Wiring.Encoders[:], func(w wire.WheelSensor) bool { return w.Kind != wire.TachoWheel }) {
		return
	}
	c.Expect = slices.Clone(c.Expect) // that of the other variants as well
	for i := range c.Expect {
		if branch, ok := c.Expect[i].Check.(assertions.PolicyBranch); ok && branch.Of == "reverse" {
			c.Expect[i].NotAsked = "the bench's wheel sensors do not tell the sense of rotation"
		}
	}
}
