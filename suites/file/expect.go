package file

import (
	"fmt"
	"slices"

	"hilrig/assertions"
)

// expectations returns the case's checks, and reports steps that it does not have.
func (b *caseBuilder) expectations() []Expectation {
	var out []Expectation
	for _, x := range b.v.list("expect") {
		if x.bad {
			continue
		}
		out = append(out, Expectation{
			Check:    b.check(x.table),
			Place:    Place{b.source.Path, x.node.line, x.node.column},
			LastLine: x.node.lastLine,
		})
	}
	return out
}

func (b *caseBuilder) check(v *values) assertions.Check {
	step := b.stepNamed(v.get("step"))
	switch {
	case v.written("policy"):
		if slices.Contains(shifting, v.word("policy")) {
			b.needsBaseline(v)
		}
		return assertions.PolicyBranch{Of: v.word("policy"), Step: step}
	case v.written("is"):
		b.needsBaseline(v)
		return assertions.Shifted{Motors: b.motorsOf(v), Is: assertions.Sense(v.word("is")), Step: step}
	case v.written("range"):
		c := assertions.InRange{Motors: b.motorsOf(v), Step: step}
		if x := v.get("range"); x != nil {
			c.Low, c.High = x.list[0].number, x.list[1].number
		}
		return c
	case v.written("equal_within"):
		motors := b.motorsOf(v)
		if len(motors) == 1 {
			b.problem(v.get("motor").node, "one motor is equal to itself", "name at least two, or all")
		}
		return assertions.Equal{Motors: motors, Within: v.number("equal_within"), Step: step}
	case v.written("times"):
		b.needsBaseline(v)
		return assertions.Scaled{Motors: b.motorsOf(v), Step: step, Of: b.stepNamed(v.get("of")), Times: v.number("times"), Within: v.number("within")}
	case v.written("proportional"):
		b.needsBaseline(v)
		return assertions.Proportional{Motors: b.motorsOf(v), Steps: b.stepsNamed(v, "proportional", 3), Within: v.number("within")}
	case v.written("monotone"):
		return assertions.Monotone{Motors: b.motorsOf(v), Steps: b.stepsNamed(v, "over", 2), Rising: v.word("monotone") == "rising"}
	case v.written("no_jump"):
		return assertions.NoJump{Motors: b.motorsOf(v), Most: v.number("no_jump"), Step: step}
	case v.written("measure"):
		return b.measured(v, step)
	case v.written("sum"):
		b.needsBaseline(v)
		return assertions.SumKept{Within: v.number("within"), Step: step}
	}
	return b.mirrored(v)
}

// shifting are the situations of the policy that are judged by shifts from the
// baseline.
var shifting = []string{"understeer", "oversteer", "on_demand", "opposite_lock", "zero_gain", "standstill", "reverse", "at_the_limit",
	"proportional", "dead_band", "no_wind_up", "steer_lost", "yaw_lost", "yaw_frozen", "encoder_lost", "bad_checksum", "spike"}

// stepsNamed returns the names of the steps at a key, and reports fewer than
// least and one that stands twice.
func (b *caseBuilder) stepsNamed(v *values, key string, least int) []string {
	x := v.get(key)
	if x == nil {
		return nil
	}
	var names []string
	for i := range x.list {
		name := b.stepNamed(&x.list[i])
		if slices.Contains(names, name) {
			b.problem(x.list[i].node, fmt.Sprintf("%s names step %q twice", key, brief(name)), "name each step once")
		}
		names = append(names, name)
	}
	if len(names) < least {
		b.problem(x.node, fmt.Sprintf("%s names fewer than %d steps", key, least), "name more of them")
	}
	return names
}

// measured reads an expectation of a drive in closed loop.
func (b *caseBuilder) measured(v *values, step string) assertions.Check {
	c := assertions.Measured{
		Measure: v.word("measure"), AtMost: v.optional("at_most"), AtLeast: v.optional("at_least"),
		BetterThan: v.word("better_than"), By: v.number("by"), Step: step,
	}
	better := v.written("better_than")
	switch {
	case !b.v.flag("closed"):
		b.problem(v.node, fmt.Sprintf("%s is measured in closed loop, and the case is not closed", c.Measure), "add closed: yes to the case")
	case better && !b.v.flag("compare"):
		b.problem(v.node.key("better_than"), "the case is not played without the shift and without a board", "add compare: yes to the case")
	case !better && !v.written("at_most") && !v.written("at_least"):
		b.problem(v.node, fmt.Sprintf("nothing is expected of %s", c.Measure), "add at_most: "+v.table.key("at_most").example()+", or better_than: off")
	}
	if v.written("by") && !better {
		b.problem(v.node.key("by"), "by has no meaning without better_than", "add better_than: off")
	}
	if c.AtMost != nil && c.AtLeast != nil && *c.AtLeast > *c.AtMost {
		b.problem(v.get("at_least").node, "at_least is above at_most", "write the smaller at at_least")
	}
	return c
}

func (b *caseBuilder) mirrored(v *values) assertions.Check {
	x := v.get("mirrored")
	if x == nil {
		return nil
	}
	if len(x.list) != 2 {
		b.problem(x.node, "mirrored does not name two steps", "name the two that are mirror images of each other")
		return nil
	}
	return assertions.Mirrored{A: b.stepNamed(&x.list[0]), B: b.stepNamed(&x.list[1]), Within: v.number("within")}
}

// motorsOf returns the motors of an expectation; all stands for the four wheels.
func (b *caseBuilder) motorsOf(v *values) []assertions.Corner {
	for _, x := range v.list("motor") {
		if x.word == "all" {
			return assertions.Corners[:4:4]
		}
	}
	return b.motors(v, "motor")
}

// needsBaseline reports an expectation of a shift in a case without baseline.
func (b *caseBuilder) needsBaseline(v *values) {
	if !b.baseline() {
		b.problem(v.node, "a shift is counted from the baseline, and the case has none", "leave baseline: none out, or expect a range or equal motors")
	}
}

// stepNamed returns the name of the step that x names, and reports one that
// the case does not have.
func (b *caseBuilder) stepNamed(x *value) string {
	if x == nil {
		return ""
	}
	var names []string
	if b.baseline() {
		names = append(names, "baseline")
	}
	for _, way := range []string{"hold", "replay"} {
		if b.v.written(way) {
			names = append(names, way)
		}
	}
	steps := b.v.list("steps")
	for _, s := range steps {
		if !s.table.has("step") {
			return x.word
		}
		if name := s.table.word("step"); !slices.Contains(names, name) {
			names = append(names, name)
		}
	}
	if !slices.Contains(names, x.word) && (b.v.written("hold") || b.v.written("replay") || len(steps) > 0) {
		b.problem(x.node, fmt.Sprintf("step %q is not one of the case", brief(x.word)), instead(x.word, names))
	}
	return x.word
}

// atLimit tells whether a check is about a motor at its limit.
func atLimit(c assertions.Check) bool {
	b, ok := c.(assertions.PolicyBranch)
	return ok && (b.Of == "cap" || b.Of == "floor" || b.Of == "at_the_limit")
}
