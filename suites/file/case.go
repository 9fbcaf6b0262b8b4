package file

import (
	"fmt"
	"slices"
	"strings"

	"hilrig/rig/signal"
	"hilrig/rig/trace"
)

// caseBuilder expands one case of a suite.
type caseBuilder struct {
	*reader
	*suiteReader
	car      *Car   // nil: its file was wrong
	bench    *Bench // nil: its file was wrong
	v        *values
	defaults *values
	chosen   map[string]*value // of each, in the variant at hand
	expect   []Expectation
	lacks    string // of the variant at hand: what the bench lacks
}

// axes returns the lists of each in the order of the file.
func (b *caseBuilder) axes() []axis {
	each := b.v.sub("each")
	if each == nil {
		return nil
	}
	var out []axis
	for i := range each.node.entries {
		name := each.node.entries[i].name
		if x := each.get(name); x != nil {
			out = append(out, axis{name, x.list})
		}
	}
	return out
}

// axis is one list of each.
type axis struct {
	name   string
	values []value
}

// combinations returns how many cases the case expands to, no more than enough
// to see that they are too many.
func (b *caseBuilder) combinations() int {
	n := 1
	for _, a := range b.axes() {
		if n *= len(a.values); n > mostCases {
			return n
		}
	}
	return n
}

// cases returns the expanded cases. Mistakes are reported; the cases then
// returned are not to be used.
func (b *caseBuilder) cases() []Case {
	axes := b.axes()
	b.form(axes)
	b.expect = b.expectations()
	var out []Case
	index := make([]int, len(axes))
	for {
		b.chosen = map[string]*value{}
		var words []string
		for i, a := range axes {
			x := &a.values[index[i]]
			b.chosen[a.name] = x
			words = append(words, strings.ReplaceAll(a.name, "_", " ")+" "+strings.Join(strings.Fields(x.node.text), " "))
		}
		out = append(out, b.one(strings.Join(words, ", ")))
		if !next(index, axes) {
			return out
		}
	}
}

// next counts index up, its last place fastest, and returns false behind the
// last combination.
func next(index []int, axes []axis) bool {
	for i := len(index) - 1; i >= 0; i-- {
		if index[i]++; index[i] < len(axes[i].values) {
			return true
		}
		index[i] = 0
	}
	return false
}

// form reports a case that is not put together rightly: without hold and
// steps, or with one value in two places.
func (b *caseBuilder) form(axes []axis) {
	v := b.v
	if v.has("each") && len(axes) == 0 && len(v.sub("each").node.entries) == 0 {
		b.problem(v.get("each").node, "each is empty", "add a list like turn: [left, right], or leave each out")
	}
	var ways []string
	for _, way := range []string{"hold", "steps", "replay"} {
		if v.written(way) {
			ways = append(ways, way)
		}
	}
	switch len(ways) {
	case 0:
		b.problem(v.node, "the case says nothing to hold", "add hold: {yaw_rate: 70 % of demand}, or steps:, or replay:")
	case 1:
	default:
		b.problem(v.node.key(ways[1]), "the case has "+strings.Join(ways, " and "), "give one of them")
	}
	b.openLoop()
	for _, a := range axes {
		b.twice(a)
		places := []*values{v, v.sub("hold")}
		for _, s := range v.list("steps") {
			if a.name == "turn" {
				break // a step may turn the other way
			}
			places = append(places, s.table)
		}
		for _, p := range places {
			if p.written(a.name) {
				b.problem(p.node.key(a.name), fmt.Sprintf("%s stands in each as well", a.name), "give it in one place")
			}
		}
	}
	b.stepNames()
}

// openLoop reports what has a meaning in closed loop alone.
func (b *caseBuilder) openLoop() {
	if b.v.flag("closed") {
		return
	}
	for _, name := range []string{"compare", "repeat"} {
		x := b.v.get(name)
		if x != nil && (x.flag || x.whole > 0) {
			b.problem(x.key, name+" has no meaning in open loop", "add closed: yes, or leave it out")
		}
	}
}

// twice reports a value that stands twice in a list of each.
func (b *caseBuilder) twice(a axis) {
	for i, x := range a.values {
		for _, y := range a.values[:i] {
			if x.number == y.number && x.word == y.word && x.ofDemand == y.ofDemand {
				b.problem(x.node, fmt.Sprintf("%s %s stands twice in each", a.name, brief(x.node.text)), "leave one out")
				break
			}
		}
	}
}

func (b *caseBuilder) stepNames() {
	steps := b.v.list("steps")
	if len(steps) > mostSteps {
		b.problem(b.v.get("steps").node, fmt.Sprintf("the case has %d steps, more than %d", len(steps), mostSteps), "split it into several cases")
	}
	var names []string
	for _, s := range steps {
		x := s.table.get("step")
		switch {
		case x == nil:
			continue
		case x.word == "baseline":
			b.problem(x.node, "a step is called baseline", "give it another name; the baseline is played by itself")
		case slices.Contains(names, x.word):
			b.problem(x.node, fmt.Sprintf("step %q stands twice", brief(x.word)), "give it another name")
		}
		names = append(names, x.word)
	}
}

// one builds the case for the chosen values of each.
func (b *caseBuilder) one(variant string) Case {
	b.lacks = ""
	c := Case{
		Name: b.v.word("case"), About: b.v.word("about"), Variant: variant,
		Place:  Place{b.source.Path, b.v.node.line, b.v.node.column},
		Closed: b.v.flag("closed"), Compare: b.v.flag("compare"), Repeat: int(b.v.whole("repeat")),
		PowerUp: b.v.flag("power_up"),
		Expect:  b.expect,
	}
	if log := b.log(); log != nil {
		b.replay(&c, log)
	}
	steps := []*values{b.v.sub("hold")}
	if b.v.written("steps") {
		steps = steps[:0]
		for _, s := range b.v.list("steps") {
			steps = append(steps, s.table)
		}
	}
	for i, s := range steps {
		if s == nil {
			continue
		}
		if i == 0 && b.baseline() {
			base := b.step("baseline", b.v.sub("baseline"), s)
			base.Baseline = true
			c.Steps = append(c.Steps, base)
		}
		name := s.word("step")
		if !b.v.written("steps") {
			name = "hold"
		}
		c.Steps = append(c.Steps, b.step(name, nil, s))
	}
	c.UpTo, c.Lacks = b.upTo(&c), b.lacks
	return c
}

// baseline tells whether the case has one.
func (b *caseBuilder) baseline() bool { return b.v.word("baseline") != "none" }

// cautious is the throttle above which a case is not played with motors
// powered unless it says so.
const cautious = 0.2

func (b *caseBuilder) upTo(c *Case) PowerLevel {
	if b.v.has("up_to") {
		return PowerLevel(slices.Index(powerWords, b.v.word("up_to")))
	}
	for i := range c.Steps {
		low, high := c.Steps[i].span(trace.Throttle)
		if high > cautious || low < -cautious || len(c.Steps[i].Wrong) > 0 {
			return SignalsOnly
		}
	}
	for _, x := range b.expect {
		if atLimit(x.Check) {
			return SignalsOnly
		}
	}
	return WheelsOffGround
}

// What a step is held for where the file does not say.
const (
	settle  = 300 * signal.Millisecond
	observe = 400 * signal.Millisecond
)
