package file

import "hilrig/assertions"

var (
	motorWords = append([]string{"all"}, corners...)
	motorKey   = Key{Name: "motor", Kind: Word, Many: OneOrList, Required: true, Words: motorWords, Doc: "one motor, a list, or all"}
	stepKey    = Key{Name: "step", Kind: Text, Doc: "the step that is looked at; left out: the last"}
	withinKey  = Key{Name: "within", Kind: Measure, Quantity: Share, Least: "0.01 %", Most: "100 %", Doc: "share of the range of one motor; left out: the policy's dead shift"}
)

// expectForms are the kinds of expectation, known by the keys that name them.
var expectForms = []Form{
	{Has: []string{"policy"}, Table: &Table{Name: "an expectation of the policy", Doc: "what the car's policy declares for one situation", Keys: []Key{
		{Name: "policy", Kind: Word, Required: true, Words: assertions.Situations, Doc: "the situation"}, stepKey}}},
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
