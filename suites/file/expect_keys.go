package file

import (
	"slices"
	"strings"

	"hilrig/assertions"
	"hilrig/suites/language"
)

var (
	motorWords = append([]string{"all"}, corners...)
	motorKey   = language.Key{Name: "motor", Kind: language.Word, Many: language.OneOrList, Required: true, Words: motorWords, Doc: "one motor, a list, or all"}
	stepKey    = language.Key{Name: "step", Kind: language.Text, Doc: "the step that is looked at; left out: the last"}
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
		{Name: "of", Kind: language.Text, Required: true, Doc: "the step with the single shift"},
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
	{Has: []string{"mirrored"}, Table: language.NewTable("an expectation of symmetry", "two steps that are mirror images shift the motors alike", []language.Key{
		{Name: "mirrored", Kind: language.Text, Many: language.List, Required: true, Doc: "the two steps"}, withinKey})},
}

func stepsKey(name, doc string) language.Key {
	return language.Key{Name: name, Kind: language.Text, Many: language.List, Required: true, Example: "STEP, STEP, STEP", Doc: doc}
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
