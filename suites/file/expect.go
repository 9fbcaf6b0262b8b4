package file

import (
	"fmt"
	"slices"
	"strings"

	"hilrig/assertions"
	"hilrig/assertions/law"
	"hilrig/suites/language"
)

var (
	motorWords = append([]string{"all"}, corners...)
	motorKey   = language.Key{Name: "motor", Kind: language.Word, Many: language.OneOrList, Required: true, Words: motorWords, Doc: "one motor, a list, or all"}
	stepKey    = language.Key{Name: "step", Kind: language.Text, Example: "first", Doc: "the step that is looked at; left out: the last"}
	withinKey  = language.Key{Name: "within", Kind: language.Measure, Quantity: language.Share, Least: "0.01 %", Most: "100 %", Doc: "share of the range of one motor; left out: the policy's dead shift"}
)

// expectForms are the kinds of expectation, known by the keys that name them.
var expectForms = slices.Concat(policyForms, motorForms, measureForms)

var policyForms = []language.Form{
	{Has: []string{"policy"}, Table: language.NewTable("an expectation of the policy", "what the car's policy declares for one situation", []language.Key{
		{Name: "policy", Kind: language.Word, Required: true, Words: assertions.Situations, Doc: "the situation"}, stepKey})},
}

var motorForms = []language.Form{
	{Has: []string{"motor", "is"}, Table: language.NewTable("an expectation of a shift", "motors move from their baseline as said", []language.Key{
		motorKey, {Name: "is", Kind: language.Word, Required: true, Words: []string{"raised", "lowered", "unchanged"}, Doc: "against the baseline"}, stepKey})},
	{Has: []string{"motor", "range"}, Table: language.NewTable("an expectation of a range", "every command lies in the range", []language.Key{
		motorKey, {Name: "range", Kind: language.Measure, Quantity: language.Share, Many: language.Pair, Required: true, Least: "-100 %", Most: "100 %", Doc: "lowest and highest command"}, stepKey})},
	{Has: []string{"motor", "equal_within"}, Table: language.NewTable("an expectation of equal motors", "the mean commands stand this close", []language.Key{
		motorKey, {Name: "equal_within", Kind: language.Measure, Quantity: language.Share, Required: true, Example: "1 %", Least: "0.01 %", Most: "100 %", Doc: "share of range"}, stepKey})},
	{Has: []string{"motor", "times"}, Table: language.NewTable("an expectation of a multiple", "the shift in one step is so many times that in another", []language.Key{
		motorKey, {Name: "times", Kind: language.Measure, Quantity: language.Factor, Required: true, Least: "-100", Most: "100", Example: "2", Doc: "the factor"},
		{Name: "of", Kind: language.Text, Required: true, Example: "first", Doc: "the step with the single shift"},
		{Name: "within", Kind: language.Measure, Quantity: language.Share, Required: true, Least: "0.1 %", Most: "100 %", Doc: "share of the shift"}, stepKey})},
	{Has: []string{"motor", "proportional"}, Table: language.NewTable("an expectation of proportion", "the shifts lie on a straight line through the origin over the yaw error times the gain", []language.Key{
		motorKey, stepsKey("proportional", "the steps, with at least three different yaw errors between them"),
		{Name: "within", Kind: language.Measure, Quantity: language.Share, Least: "0.1 %", Most: "100 %", Example: "5 %", Doc: "distance from the line, share of the largest shift; left out: the policy's dead shift"}})},
	{Has: []string{"motor", "monotone"}, Table: language.NewTable("an expectation of order", "the mean commands go one way from step to step", []language.Key{
		motorKey, {Name: "monotone", Kind: language.Word, Required: true, Words: []string{"rising", "falling"}, Doc: "the way"}, stepsKey("over", "the steps, in order")})},
	{Has: []string{"motor", "no_jump"}, Table: language.NewTable("an expectation of no jump", "no command differs from the one before by more", []language.Key{
		motorKey, {Name: "no_jump", Kind: language.Measure, Quantity: language.Share, Required: true, Least: "0.1 %", Most: "200 %", Example: "20 %", Doc: "share of range"}, stepKey})},
	{Has: []string{"sum"}, Table: language.NewTable("an expectation of the sum", "the sum of the four commands is that of the baseline", []language.Key{
		{Name: "sum", Kind: language.Word, Required: true, Words: []string{"kept"}, Doc: "kept"}, withinKey, stepKey})},
	{Has: []string{"mirrored"}, Table: language.NewTable("an expectation of symmetry", "two steps that are mirror images shift the motors alike; where the shift may gather with time that is asked with within alone", []language.Key{
		{Name: "mirrored", Kind: language.Text, Many: language.List, Required: true, Example: "first, second", Doc: "the two steps"}, withinKey})},
}

func stepsKey(name, doc string) language.Key {
	return language.Key{Name: name, Kind: language.Text, Many: language.List, Required: true, Example: "first, second, third", Doc: doc}
}

// measureForms are the figures of a drive in closed loop.
var measureForms = func() []language.Form {
	var forms []language.Form
	for _, word := range assertions.Measures {
		forms = append(forms, measureForm(word))
	}
	return forms
}()

// figureKeys say what each figure is measured in.
var figureKeys = map[string]language.Key{
	"rms_yaw_error":  {Quantity: language.AngularRate, Most: "2000 deg/s", Example: "15 deg/s"},
	"peak_body_slip": {Quantity: language.Angle, Most: "180 deg", Example: "10 deg"},
	"path_error":     {Quantity: language.Length, Most: "1000 m", Example: "300 mm"},
	"overshoot":      {Quantity: language.Share, Most: "1000 %", Example: "20 %"},
	"response_time":  {Quantity: language.Duration, Most: "1 min", Example: "200 ms"},
	"settling_time":  {Quantity: language.Duration, Most: "1 min", Example: "500 ms"},
}

func measureForm(word string) language.Form {
	bound := func(name, doc string) language.Key {
		k := figureKeys[word]
		k.Name, k.Kind, k.Doc = name, language.Measure, doc
		return k
	}
	return language.Form{Has: []string{"measure"}, Word: word, Table: language.NewTable("an expectation of "+strings.ReplaceAll(word, "_", " "), "a figure of a drive in closed loop, the mean over its repeats", []language.Key{
		{Name: "measure", Kind: language.Word, Required: true, Words: []string{word}, Doc: "the figure"},
		bound("at_most", "no more than this"), bound("at_least", "no less than this"),
		{Name: "better_than", Kind: language.Word, Words: []string{"off", "no_board"}, Doc: "smaller than in the same drive with the gain at zero, or with the throttle passed on to all motors; the case needs compare: yes"},
		{Name: "by", Kind: language.Measure, Quantity: language.Share, Least: "0 %", Most: "100 %", Example: "5 %", Doc: "by how much, share of that one; left out: 1 %"},
		stepKey,
	})}
}

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
func (b *caseBuilder) motorsOf(v *language.Mapping) []law.Corner {
	for _, x := range v.List("motor") {
		if x.Word == "all" {
			return law.Corners[:4:4]
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
