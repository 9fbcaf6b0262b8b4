package file

import (
	"slices"

	"hilrig/assertions"
)

// stimulusKeys are the values that a case holds.
var stimulusKeys = []Key{
	{Name: "speed", Kind: Measure, Quantity: Speed, Least: "-50 m/s", Most: "50 m/s", Doc: "at the centre of gravity; backwards below 0"},
	{Name: "throttle", Kind: Measure, Quantity: Share, Least: "-100 %", Most: "100 %", Doc: "throttle channel"},
	{Name: "gain", Kind: Measure, Quantity: Share, Least: "0 %", Most: "100 %", Example: "50 %", Doc: "gain trim"},
	{Name: "steer", Kind: Measure, Quantity: Angle, Least: "-60 deg", Most: "60 deg", Doc: "mean of both front wheels; left out: 0 deg"},
	{Name: "yaw_rate", Kind: Measure, Quantity: AngularRate, OfDemand: true, Least: "-2000 deg/s", Most: "2000 deg/s", Doc: "what the sensor says; left out: 100 % of demand"},
}

// timeKeys say how long a step is held.
var timeKeys = []Key{
	{Name: "settle", Kind: Measure, Quantity: Duration, Least: "0 ms", Most: "1 min", Doc: "held before the window that is measured; left out: 300 ms"},
	{Name: "observe", Kind: Measure, Quantity: Duration, Least: "10 ms", Most: "10 min", Doc: "the window that is measured; left out: 400 ms"},
}

var (
	turnKey   = Key{Name: "turn", Kind: Word, Words: []string{"left", "right"}, Doc: "right plays the mirror image: steer and yaw_rate negated, left and right wheels swapped"}
	wheelsKey = Key{Name: "wheels", Kind: Group, Table: &wheelRatesTable, Doc: "wheels that turn at a rate of their own instead of the car's"}
)

var wheelRatesTable = Table{
	Name: "the wheels",
	Keys: perWheel(Key{Kind: Measure, Quantity: AngularRate, Least: "-5000 rad/s", Most: "5000 rad/s", Doc: "rate of this wheel"}),
}

// heldKeys may stand at a step, a hold or a baseline.
var heldKeys = slices.Concat(stimulusKeys, timeKeys, []Key{wheelsKey})

// SuiteTable declares the suite file.
var SuiteTable = Table{
	Name: "a suite file",
	Doc:  "Declared tests of a board: what is played, and what is expected of the motor commands.",
	Keys: []Key{
		{Name: "suite", Kind: Text, Required: true, Doc: "name of the suite"},
		{Name: "about", Kind: Text, Doc: "what it shows, in a sentence"},
		{Name: "defaults", Kind: Group, Table: &defaultsTable, Doc: "values for cases that do not give their own"},
		{Name: "cases", Kind: Group, Many: List, Required: true, Table: &caseTable, Doc: "the cases"},
	},
}

var defaultsTable = Table{Name: "the defaults", Keys: slices.Concat(stimulusKeys, timeKeys)}

var caseTable = Table{
	Name: "a case",
	Keys: slices.Concat([]Key{
		{Name: "case", Kind: Text, Required: true, Doc: "name of the case"},
		{Name: "about", Kind: Text, Doc: "what it shows, in a sentence"},
		{Name: "each", Kind: Group, Table: &eachTable, Doc: "one case is played for each combination of these values"},
		{Name: "hold", Kind: Group, Table: &holdTable, Doc: "what is held after the baseline; the step is called hold"},
		{Name: "steps", Kind: Group, Many: List, Table: &stepTable, Doc: "what is held one after the other, after the baseline"},
		{Name: "baseline", Kind: Group, Table: &baselineTable, Words: []string{"none"}, Doc: "what differs in the baseline, which has the first step's values and yaw rate on demand; none leaves it out"},
		{Name: "closed", Kind: Flag, Doc: "the board's commands drive the model of the car; left out: no"},
		{Name: "up_to", Kind: Word, Words: powerWords, Doc: "highest power level that it may be played at; left out: signals_only where the throttle is above 20 % or a limit is tested, else wheels_off_ground"},
		{Name: "expect", Kind: Group, Many: List, Required: true, Forms: expectForms, Doc: "what the motor commands should do"},
		turnKey,
	}, heldKeys),
}

var eachTable = Table{
	Name: "each",
	Keys: func() []Key {
		keys := append([]Key{turnKey}, stimulusKeys...)
		for i := range keys {
			keys[i].Many = List
		}
		return keys
	}(),
}

var (
	holdTable     = Table{Name: "a hold", Keys: heldKeys}
	baselineTable = Table{Name: "a baseline", Keys: heldKeys}
	stepTable     = Table{
		Name: "a step",
		Keys: slices.Concat([]Key{{Name: "step", Kind: Text, Required: true, Doc: "name of the step"}, turnKey}, heldKeys),
	}
)

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
	{Has: []string{"motor", "times"}, Table: &Table{Name: "an expectation of proportion", Doc: "the shift in one step is so many times that in another", Keys: []Key{
		motorKey, {Name: "times", Kind: Measure, Quantity: Factor, Required: true, Least: "-100", Most: "100", Example: "2", Doc: "the factor"},
		{Name: "of", Kind: Text, Required: true, Doc: "the step with the single shift"},
		{Name: "within", Kind: Measure, Quantity: Share, Required: true, Least: "0.1 %", Most: "100 %", Doc: "share of the shift"}, stepKey}}},
	{Has: []string{"sum"}, Table: &Table{Name: "an expectation of the sum", Doc: "the sum of the four commands is that of the baseline", Keys: []Key{
		{Name: "sum", Kind: Word, Required: true, Words: []string{"kept"}, Doc: "kept"}, withinKey, stepKey}}},
	{Has: []string{"mirrored"}, Table: &Table{Name: "an expectation of symmetry", Doc: "two steps that are mirror images shift the motors alike", Keys: []Key{
		{Name: "mirrored", Kind: Text, Many: List, Required: true, Doc: "the two steps"}, withinKey}}},
}
