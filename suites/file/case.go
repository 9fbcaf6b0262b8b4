package file

import (
	"fmt"
	"slices"
	"strings"

	"hilrig/rig/interlock"
	"hilrig/rig/signal"
	"hilrig/rig/trace"
	"hilrig/suites/language"
)

// caseBuilder expands one case of a suite.
type caseBuilder struct {
	*reader
	*suiteReader
	car      *Car   // nil: its file was wrong
	bench    *Bench // nil: its file was wrong
	v        *language.Mapping
	defaults *language.Mapping
	chosen   map[string]*language.Value // of each, in the variant at hand
	expect   []Expectation
	missing  string // of the variant at hand: what the bench lacks
	atRest   bool   // the step at hand begins with the board's power-up
	place    place  // that is tried for points
}

// combinations returns how many cases the case expands to, no more than enough
// to see that they are too many.
func (b *caseBuilder) combinations() int {
	n := 1
	for _, a := range b.axes() {
		if n *= len(a.rows); n > mostCases {
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
		b.chosen = map[string]*language.Value{}
		var words []string
		for i, a := range axes {
			for k, x := range a.rows[index[i]] {
				b.chosen[a.names[k]] = x
				words = append(words, strings.ReplaceAll(a.names[k], "_", " ")+" "+written(x))
			}
		}
		if c := b.one(strings.Join(words, ", ")); b.declared(&c) {
			out = append(out, c)
		}
		if !next(index, axes) {
			return out
		}
	}
}

// declared tells whether a case is one for the car's policy: it has the keys that the case is written for, and the positions of
// the trim.
func (b *caseBuilder) declared(c *Case) bool {
	keys := b.v.List("where_declared")
	if b.car == nil || len(keys) == 0 {
		return true
	}
	return !c.noPosition && !slices.ContainsFunc(keys, func(k language.Value) bool { return !b.car.declares(k.Word) })
}

// declares tells whether the policy has a key, and says something other than none there.
func (c *Car) declares(key string) bool {
	switch key {
	case "gain_steps":
		return len(c.Policy.GainSteps) > 0
	case "straight":
		return c.Policy.Straight != nil
	}
	return slices.Contains(c.Asked, key)
}

// next counts index up, its last place fastest, and returns false behind the
// last combination.
func next(index []int, axes []axis) bool {
	for i := len(index) - 1; i >= 0; i-- {
		if index[i]++; index[i] < len(axes[i].rows) {
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
	if v.Has("each") && len(v.Sub("each").Node.Entries) == 0 {
		b.Report(v.Get("each").Node, "each is empty", "add a list like turn: [left, right], or leave each out")
	}
	var ways []string
	for _, way := range []string{"hold", "steps", "replay"} {
		if v.Written(way) {
			ways = append(ways, way)
		}
	}
	switch len(ways) {
	case 0:
		b.Report(v.Node, "the case says nothing to hold", "add hold: {yaw_rate: 70 % of demand}, or steps:, or replay:")
	case 1:
	default:
		b.Report(v.Node.Key(ways[1]), "the case has "+strings.Join(ways, " and "), "give one of them")
	}
	b.openLoop()
	b.varied(axes)
	b.stepNames()
}

// openLoop reports what has a meaning in closed loop alone.
func (b *caseBuilder) openLoop() {
	if b.v.Flag("closed") {
		return
	}
	for _, name := range []string{"compare", "repeat"} {
		x := b.v.Get(name)
		if x != nil && (x.Flag || x.Whole > 0) {
			b.Report(x.Key, name+" has no meaning in open loop", "add closed: yes, or leave it out")
		}
	}
}

func (b *caseBuilder) stepNames() {
	steps := b.v.List("steps")
	if len(steps) > mostSteps {
		b.Report(b.v.Get("steps").Node, fmt.Sprintf("the case has %d steps, more than %d", len(steps), mostSteps), "split it into several cases")
	}
	var names []string
	for _, s := range steps {
		x := s.Mapping.Get("step")
		switch {
		case x == nil:
			continue
		case x.Word == "baseline":
			b.Report(x.Node, "a step is called baseline", "give it another name; the baseline is played by itself")
		case slices.Contains(names, x.Word):
			b.Report(x.Node, fmt.Sprintf("step %q stands twice", language.Brief(x.Word)), "give it another name")
		}
		names = append(names, x.Word)
	}
}

// tried builds the case at the place that is tried for its points, and says whether its shifts have the room that they take.
func (b *caseBuilder) tried(variant string) (_ Case, room bool) {
	b.missing = ""
	c := Case{
		Name: b.v.Word("case"), About: b.v.Word("about"), Variant: variant,
		Place:  b.PlaceOf(b.v.Node),
		Closed: b.v.Flag("closed"), Compare: b.v.Flag("compare"), Repeat: int(b.v.Whole("repeat")),
		PowerUp: b.v.Flag("power_up"),
		Expect:  b.expect,
	}
	if log := b.log(); log != nil {
		b.replay(&c, log)
	}
	steps := []*language.Mapping{b.v.Sub("hold")}
	if b.v.Written("steps") {
		steps = steps[:0]
		for _, s := range b.v.List("steps") {
			steps = append(steps, s.Mapping)
		}
	}
	for i, s := range steps {
		if s == nil {
			continue
		}
		b.atRest = c.PowerUp && i == 0
		if i == 0 && b.baseline() {
			base := b.step("baseline", b.v.Sub("baseline"), s)
			b.atRest = false
			base.Baseline = true
			c.Steps = append(c.Steps, base)
		}
		name := "hold"
		if b.v.Written("steps") {
			name = s.Word("step")
		}
		c.Steps = append(c.Steps, b.step(name, nil, s))
	}
	b.atRest = false
	room = b.workOut(&c)
	b.calm(&c)
	b.settle(&c)
	c.UpTo, c.Missing = b.upTo(&c), b.missing
	b.longer(&c)
	c.withoutDemand()
	b.better(&c)
	b.withoutPolicy(&c)
	b.unturned(&c)
	return c, room
}

// baseline tells whether the case has one.
func (b *caseBuilder) baseline() bool { return b.v.Word("baseline") != "none" }

// cautious is the throttle above which a case is not played with motors
// powered unless it says so.
const cautious = 0.2

func (b *caseBuilder) upTo(c *Case) interlock.Power {
	if b.v.Has("up_to") {
		return interlock.Power(slices.Index(powerWords, b.v.Word("up_to")))
	}
	for i := range c.Steps {
		low, high := c.Steps[i].span(trace.Throttle)
		if high > cautious || low < -cautious || len(c.Steps[i].Faults) > 0 {
			return interlock.SignalsOnly
		}
	}
	for _, x := range b.expect {
		if atLimit(x.Check) {
			return interlock.SignalsOnly
		}
	}
	return interlock.WheelsOffGround
}

// What a step is held for where the file does not say.
const (
	settle  = 300 * signal.Millisecond
	observe = 400 * signal.Millisecond
)
