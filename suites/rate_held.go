package suites

import (
	"hilrig/assertions"
	"hilrig/suites/file"
	"hilrig/suites/record"
)

// heldKeys are the keys of a policy that what rate measures is held against, each with the
// name of its situation.
var heldKeys = [...]string{"loop_rate", "response"}

// Hold holds what was measured against the policy. What the policy leaves out is not asked.
func (r *Rate) Hold() {
	policy := &file.Suite{Source: r.setup.Car.Source}
	r.Held = nil
	for i, e := range [...]*assertions.Evidence{r.loop, r.answers} {
		results := assertions.Judge(assertions.PolicyBranch{Of: heldKeys[i]}, e)
		c := check(policy, &file.Expectation{}, &results[0])
		c.Name, c.Step, c.Excerpt = heldKeys[i], "", ""
		r.Held = append(r.Held, c)
	}
}

// Outcome is what the figures held against the policy come to: record.NoGo where one fails,
// else record.NotShown where one is undecided, else record.Go. Where the policy asks for
// neither, it is record.Measured, or record.NotShown where loop rate or response was not found.
func (r *Rate) Outcome() string {
	switch worst := record.Worst(r.Held); {
	case worst == record.Fail:
		return record.NoGo
	case worst == record.Pass:
		return record.Go
	case worst == record.NotAsked && r.Decided():
		return record.Measured
	}
	return record.NotShown
}
