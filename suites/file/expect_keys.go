package file

import (
	"slices"
	"strings"

	"hilrig/assertions"
)

var (
	motorWords = append([]string{"all"}, corners...)
	motorKey   = Key{Name: "motor", Kind: Word, Many: OneOrList, Required: true, Words: motorWords, Doc: "one motor, a list, or all"}
	stepKey    = Key{Name: "step", Kind: Text, Doc: "the step that is looked at; left out: the last"}
	withinKey  = Key{Name: "within", Kind: Measure, Quantity: Share, Least: "0.01 %", Most: "100 %", Doc: "share of the range of one motor; left out: the policy's dead shift"}
)

// expectForms are the kinds of expectation, known by the keys that name them.
var expectForms = slices.Concat(policyForms, motorForms, measureForms)

var policyForms = []Form{
	{Has: []string{"policy"}, Table: &Table{Name: "an expectation of the policy", Doc: "what the car's policy declares for one situation", Keys: []Key{
		{Name: "policy", Kind: Word, Required: true, Words: assertions.Situations, Doc: "the situation"}, stepKey}}},
}

var motorForms = []Form{
	{Has: []string{"motor", "is"}, Table: &Table{Name: "an expectation of a shift", Doc: "motors move from their baseline as said", Keys: []Key{
		motorKey, {Name: "is", Kind: Word, Required: true, Words: []string{"raised", "lowered", "unchanged"}, Doc: "against the baseline"}, stepKey}}},
	{Has: []string{"motor", "range"}, Table: &Table{Name: "an expectation of a range", Doc: "every command lies in the range", Keys: []Key{
		motorKey, {Name: "range", Kind: Measure, Quantity: Share, Many: Pair, Required: true, Least: "-100 %", Most: "100 %", Doc: "lowest and highest command"}, stepKey}}},
	{Has: []string{"motor", "equal_within"}, Table: &Table{Name: "an expectation of equal motors", Doc: "the mean commands stand this close", Keys: []Key{
		motorKey, {Name: "equal_within", Kind: Measure, Quantity: Share, Required: true, Example: "1 %", Least: "0.01 %", Most: "100 %", Doc: "share of range"}, stepKey}}},
	{Has: []string{"motor", "times"}, Table: &Table{Name: "an expectation of a multiple", Doc: "the shift in one step is so many times that in another", Keys: []Key{
		motorKey, {Name: "times", Kind: Measure, Quantity: Factor, Required: true, Least: "-100", Most: "100", Example: "2", Doc: "the factor"},
		{Name: "of", Kind: Text, Required: true, Doc: "the step with the single shift"},
		{Name: "within", Kind: Measure, Quantity: Share, Required: true, Least: "0.1 %", Most: "100 %", Doc: "share of the shift"}, stepKey}}},
	{Has: []string{"motor", "proportional"}, Table: &Table{Name: "an expectation of proportion", Doc: "the shifts lie on a straight line through the origin over the yaw error times the gain", Keys: []Key{
		motorKey, stepsKey("proportional", "the steps, with at least three different yaw errors between them"),
		{Name: "within", Kind: Measure, Quantity: Share, Least: "0.1 %", Most: "100 %", Example: "5 %", Doc: "distance from the line, share of the largest shift; left out: the policy's dead shift"}}}},
	{Has: []string{"motor", "monotone"}, Table: &Table{Name: "an expectation of order", Doc: "the mean commands go one way from step to step", Keys: []Key{
		motorKey, {Name: "monotone", Kind: Word, Required: true, Words: []string{"rising", "falling"}, Doc: "the way"}, stepsKey("over", "the steps, in order")}}},
	{Has: []string{"motor", "no_jump"}, Table: &Table{Name: "an expectation of no jump", Doc: "no command differs from the one before by more", Keys: []Key{
		motorKey, {Name: "no_jump", Kind: Measure, Quantity: Share, Required: true, Least: "0.1 %", Most: "200 %", Example: "20 %", Doc: "share of range"}, stepKey}}},
	{Has: []string{"sum"}, Table: &Table{Name: "an expectation of the sum", Doc: "the sum of the four commands is that of the baseline", Keys: []Key{
		{Name: "sum", Kind: Word, Required: true, Words: []string{"kept"}, Doc: "kept"}, withinKey, stepKey}}},
	{Has: []string{"mirrored"}, Table: &Table{Name: "an expectation of symmetry", Doc: "two steps that are mirror images shift the motors alike", Keys: []Key{
		{Name: "mirrored", Kind: Text, Many: List, Required: true, Doc: "the two steps"}, withinKey}}},
}

func stepsKey(name, doc string) Key {
	return Key{Name: name, Kind: Text, Many: List, Required: true, Example: "STEP, STEP, STEP", Doc: doc}
}

// measureForms are the figures of a drive in closed loop.
var measureForms = func() []Form {
	var forms []Form
	for _, word := range assertions.Measures {
		forms = append(forms, measureForm(word))
	}
	return forms
}()

// figureKeys say what each figure is measured in.
var figureKeys = map[string]Key{
	"rms_yaw_error":  {Quantity: AngularRate, Most: "2000 deg/s", Example: "15 deg/s"},
	"peak_body_slip": {Quantity: Angle, Most: "180 deg", Example: "10 deg"},
	"path_error":     {Quantity: Length, Most: "1000 m", Example: "300 mm"},
	"overshoot":      {Quantity: Share, Most: "1000 %", Example: "20 %"},
	"response_time":  {Quantity: Duration, Most: "1 min", Example: "200 ms"},
	"settling_time":  {Quantity: Duration, Most: "1 min", Example: "500 ms"},
}

func measureForm(word string) Form {
	bound := func(name, doc string) Key {
		k := figureKeys[word]
		k.Name, k.Kind, k.Doc = name, Measure, doc
		return k
	}
	return Form{Has: []string{"measure"}, Word: word, Table: &Table{
		Name: "an expectation of " + strings.ReplaceAll(word, "_", " "), Doc: "a figure of a drive in closed loop, the mean over its repeats",
		Keys: []Key{
			{Name: "measure", Kind: Word, Required: true, Words: []string{word}, Doc: "the figure"},
			bound("at_most", "no more than this"), bound("at_least", "no less than this"),
			{Name: "better_than", Kind: Word, Words: []string{"off", "no_board"}, Doc: "smaller than in the same drive with the gain at zero, or with the throttle passed on to all motors; the case needs compare: yes"},
			{Name: "by", Kind: Measure, Quantity: Share, Least: "0 %", Most: "100 %", Example: "5 %", Doc: "by how much, share of that one; left out: 1 %"},
			stepKey,
		}}}
}
