package file

import (
	"fmt"
	"slices"

	"hilrig/assertions"
	"hilrig/suites/language"
)

// expectations returns the case's checks, and reports steps that it does not have.
func (b *caseBuilder) expectations() []Expectation {
	var out []Expectation
	for _, x := range b.v.List("expect") {
		if x.Bad {
			continue
		}
		out = append(out, Expectation{
			Check:    b.check(x.Mapping),
			Place:    b.PlaceOf(x.Node),
			LastLine: x.Node.LastLine,
		})
	}
	return out
}

func (b *caseBuilder) check(v *language.Mapping) assertions.Check {
	step := b.stepNamed(v.Get("step"))
	switch {
	case v.Written("policy"):
		if assertions.NeedsBaseline(v.Word("policy")) {
			b.needsBaseline(v)
		}
		return assertions.PolicyBranch{Of: v.Word("policy"), Step: step}
	case v.Written("is"):
		b.needsBaseline(v)
		return assertions.Shifted{Motors: b.motorsOf(v), Is: assertions.Sense(v.Word("is")), Step: step}
	case v.Written("range"):
		c := assertions.InRange{Motors: b.motorsOf(v), Step: step}
		if x := v.Get("range"); x != nil {
			c.Low, c.High = x.List[0].Number, x.List[1].Number
		}
		return c
	case v.Written("equal_within"):
		motors := b.motorsOf(v)
		if len(motors) == 1 {
			b.Report(v.Get("motor").Node, "one motor is equal to itself", "name at least two, or all")
		}
		return assertions.Equal{Motors: motors, Within: v.Number("equal_within"), Step: step}
	case v.Written("times"):
		b.needsBaseline(v)
		return assertions.Scaled{Motors: b.motorsOf(v), Step: step, Of: b.stepNamed(v.Get("of")), Times: v.Number("times"), Within: v.Number("within")}
	case v.Written("proportional"):
		b.needsBaseline(v)
		return assertions.Proportional{Motors: b.motorsOf(v), Steps: b.stepsNamed(v, "proportional", 3), Within: v.Number("within")}
	case v.Written("monotone"):
		return assertions.Monotone{Motors: b.motorsOf(v), Steps: b.stepsNamed(v, "over", 2), Rising: v.Word("monotone") == "rising"}
	case v.Written("no_jump"):
		return assertions.NoJump{Motors: b.motorsOf(v), Most: v.Number("no_jump"), Step: step}
	case v.Written("measure"):
		return b.measured(v, step)
	case v.Written("sum"):
		b.needsBaseline(v)
		return assertions.SumKept{Within: v.Number("within"), Step: step}
	}
	return b.mirrored(v)
}

// stepsNamed returns the names of the steps at a key, and reports fewer than
// least and one that stands twice.
func (b *caseBuilder) stepsNamed(v *language.Mapping, key string, least int) []string {
	x := v.Get(key)
	if x == nil {
		return nil
	}
	var names []string
	for i := range x.List {
		name := b.stepNamed(&x.List[i])
		if slices.Contains(names, name) {
			b.Report(x.List[i].Node, fmt.Sprintf("%s names step %q twice", key, language.Brief(name)), "name each step once")
		}
		names = append(names, name)
	}
	if len(names) < least {
		b.Report(x.Node, fmt.Sprintf("%s names fewer than %d steps", key, least), "name more of them")
	}
	return names
}

// measured reads an expectation of a drive in closed loop.
func (b *caseBuilder) measured(v *language.Mapping, step string) assertions.Check {
	c := assertions.Measured{
		Measure: v.Word("measure"), AtMost: v.Optional("at_most"), AtLeast: v.Optional("at_least"),
		BetterThan: v.Word("better_than"), By: v.Number("by"), Step: step,
	}
	better := v.Written("better_than")
	switch {
	case !b.v.Flag("closed"):
		b.Report(v.Node, fmt.Sprintf("%s is measured in closed loop, and the case is not closed", c.Measure), "add closed: yes to the case")
	case better && !b.v.Flag("compare"):
		b.Report(v.Node.Key("better_than"), "the case is not played without the shift and without a board", "add compare: yes to the case")
	case !better && !v.Written("at_most") && !v.Written("at_least"):
		b.Report(v.Node, fmt.Sprintf("nothing is expected of %s", c.Measure), "add at_most: "+v.Table.Key("at_most").Sample()+", or better_than: off")
	}
	if v.Written("by") && !better {
		b.Report(v.Node.Key("by"), "by has no meaning without better_than", "add better_than: off")
	}
	if c.AtMost != nil && c.AtLeast != nil && *c.AtLeast > *c.AtMost {
		b.Report(v.Get("at_least").Node, "at_least is above at_most", "write the smaller at at_least")
	}
	return c
}

func (b *caseBuilder) mirrored(v *language.Mapping) assertions.Check {
	x := v.Get("mirrored")
	if x == nil {
		return nil
	}
	if len(x.List) != 2 {
		b.Report(x.Node, "mirrored does not name two steps", "name the two that are mirror images of each other")
		return nil
	}
	return assertions.Mirrored{A: b.stepNamed(&x.List[0]), B: b.stepNamed(&x.List[1]), Within: v.Number("within")}
}

// motorsOf returns the motors of an expectation; all stands for the four wheels.
func (b *caseBuilder) motorsOf(v *language.Mapping) []assertions.Corner {
	for _, x := range v.List("motor") {
		if x.Word == "all" {
			return assertions.Corners[:4:4]
		}
	}
	return b.motors(v, "motor")
}

// needsBaseline reports an expectation of a shift in a case without baseline.
func (b *caseBuilder) needsBaseline(v *language.Mapping) {
	if !b.baseline() {
		b.Report(v.Node, "a shift is counted from the baseline, and the case has none", "leave baseline: none out, or expect a range or equal motors")
	}
}

// stepNamed returns the name of the step that x names, and reports one that
// the case does not have.
func (b *caseBuilder) stepNamed(x *language.Value) string {
	if x == nil {
		return ""
	}
	var names []string
	if b.baseline() {
		names = append(names, "baseline")
	}
	for _, way := range []string{"hold", "replay"} {
		if b.v.Written(way) {
			names = append(names, way)
		}
	}
	steps := b.v.List("steps")
	for _, s := range steps {
		if !s.Mapping.Has("step") {
			return x.Word
		}
		if name := s.Mapping.Word("step"); !slices.Contains(names, name) {
			names = append(names, name)
		}
	}
	if !slices.Contains(names, x.Word) && (b.v.Written("hold") || b.v.Written("replay") || len(steps) > 0) {
		b.Report(x.Node, fmt.Sprintf("step %q is not one of the case", language.Brief(x.Word)), language.Instead(x.Word, names))
	}
	return x.Word
}

// atLimit tells whether a check is about a motor at its limit.
func atLimit(c assertions.Check) bool {
	b, ok := c.(assertions.PolicyBranch)
	return ok && (b.Of == "cap" || b.Of == "floor" || b.Of == "at_the_limit")
}
