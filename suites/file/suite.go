package file

import (
	"fmt"
	"slices"

	"hilrig/assertions/law"
	"hilrig/suites/language"
)

// stimulusKeys are the values that a case holds.
var stimulusKeys = []language.Key{
	{Name: "speed", Kind: language.Measure, Quantity: language.Speed, Least: "-50 m/s", Most: "50 m/s", Doc: "at the centre of gravity; backwards below 0"},
	{Name: "throttle", Kind: language.Measure, Quantity: language.Share, Least: "-100 %", Most: "100 %", Doc: "throttle channel"},
	{Name: "gain", Kind: language.Measure, Quantity: language.Share, Least: "0 %", Most: "100 %", Example: "50 %", Doc: "gain trim"},
	{Name: "steer", Kind: language.Measure, Quantity: language.Angle, Least: "-60 deg", Most: "60 deg", Doc: "mean of both front wheels; left out: 0 deg"},
	{Name: "yaw_rate", Kind: language.Measure, Quantity: language.AngularRate, ShareOf: "demand", Least: "-2000 deg/s", Most: "2000 deg/s", Doc: "what the sensor says; left out: 100 % of demand"},
}

// timeKeys say how long a step is held.
var timeKeys = []language.Key{
	{Name: "settle", Kind: language.Measure, Quantity: language.Duration, Least: "0 ms", Most: "1 min", Example: "300 ms", Doc: "held before the window that is measured; left out: 300 ms"},
	{Name: "observe", Kind: language.Measure, Quantity: language.Duration, Least: "10 ms", Most: "10 min", Example: "400 ms", Doc: "the window that is measured; left out: 400 ms. A step in which a loss, what follows on it or a power-up is judged lasts longer where the policy or the bench's ready_after gives the board more time"},
}

var (
	turnKey   = language.Key{Name: "turn", Kind: language.Word, Words: []string{"left", "right"}, Doc: "right plays the mirror image: steer and yaw_rate negated, left and right wheels swapped"}
	wheelsKey = language.Key{Name: "wheels", Kind: language.Group, Table: wheelRatesTable, Doc: "wheels that turn at a rate of their own instead of the car's"}
)

var slipKey = language.Key{Name: "slip", Kind: language.Group, Table: slipTable, Doc: "wheels that turn faster or slower than they would roll freely, in open loop"}

var slipTable = language.NewTable("the slip", "The longitudinal slip of ISO 8855, by axles and wheels: by what share of the rate at which it would roll freely, as the car moves, a wheel turns faster. 0 % rolls freely, a driven wheel that spins has more, -100 % is a wheel that stands.", slipKeys)

var slipKeys = func() []language.Key {
	one := language.Key{Kind: language.Measure, Quantity: language.Share, Least: "-100 %", Most: "300 %", Example: "20 %"}
	front, rear, wheels := one, one, one
	front.Name, front.Doc = "front", "slip of both front wheels"
	rear.Name, rear.Doc = "rear", "slip of both rear wheels"
	wheels.Doc = "slip of this wheel"
	return append([]language.Key{front, rear}, perWheel(wheels)...)
}()

var wheelRatesTable = language.NewTable("the wheels", "", shapedAll(wheelRateKeys))

var wheelRateKeys = perWheel(language.Key{Kind: language.Measure, Quantity: language.AngularRate, Least: "-5000 rad/s", Most: "5000 rad/s", Doc: "rate of this wheel"})

var (
	// playedKeys may stand at a case, a step or a hold.
	playedKeys = slices.Concat(shapedAll(pointed(stimulusKeys)), timeKeys, []language.Key{wheelsKey, slipKey})
	// baselineKeys may stand at a baseline, which is held.
	baselineKeys = slices.Concat(pointed(stimulusKeys), timeKeys, []language.Key{{Name: "wheels", Kind: language.Group, Table: baselineWheelsTable, Doc: wheelsKey.Doc}, slipKey})
)

var baselineWheelsTable = language.NewTable("the wheels of a baseline", "", wheelRateKeys)

// SuiteTable declares the suite file.
var SuiteTable = language.NewTable("a suite file", "Declared tests of a board: what is played, and what is expected of the motor commands.", []language.Key{
	{Name: "suite", Kind: language.Text, Required: true, Example: "first checks", Doc: "name of the suite"},
	{Name: "about", Kind: language.Text, Example: "What it is for.", Doc: "what it shows, in a sentence"},
	{Name: "any_policy", Kind: language.Flag, Doc: "its cases are for cars with any policy: what the policy says too little for is not asked, and listed; left out: no, and then that is a mistake"},
	{Name: "defaults", Kind: language.Group, Table: defaultsTable, Doc: "values for cases that do not give their own"},
	{Name: "cases", Kind: language.Group, Many: language.List, Required: true, Table: caseTable, Doc: "the cases"},
})

var defaultsTable = language.NewTable("the defaults", "", pointed(stimulusKeys), timeKeys)

var caseTable = language.NewTable("a case", "", []language.Key{
	{Name: "case", Kind: language.Text, Required: true, Example: "turn to the left", Doc: "name of the case"},
	{Name: "about", Kind: language.Text, Example: "What it is for.", Doc: "what it shows, in a sentence"},
	{Name: "each", Kind: language.Group, Table: eachTable, Doc: "one case is played for each combination of these values"},
	{Name: "together", Kind: language.Group, Many: language.List, Table: togetherTable, Doc: "one case is played for each of these rows, whose values change together, and each combination of each: so a grid of speed, throttle and steer can be gone through as a Latin square, in which every value comes once, and not in all its combinations"},
	{Name: "hold", Kind: language.Group, Table: holdTable, Doc: "what is held after the baseline; the step is called hold"},
	{Name: "steps", Kind: language.Group, Many: language.List, Table: stepTable, Doc: "what is held one after the other, after the baseline"},
	{Name: "baseline", Kind: language.Group, Table: baselineTable, Words: []string{"none"}, Doc: "what differs in the baseline, which has the first step's values and yaw rate on demand, and the gain at 0 % where by the policy the shift may gather with time; none leaves it out"},
	{Name: "replay", Kind: language.Text, Example: "FILE.csv", Doc: "a drive log that is played instead of a hold: CSV beside the suite file"},
	{Name: "closed", Kind: language.Flag, Doc: "the board's commands drive the model of the car; left out: no"},
	{Name: "compare", Kind: language.Flag, Doc: "closed loop: played with the shift, without it, and without a board; left out: no"},
	{Name: "repeat", Kind: language.Whole, Least: "1", Most: "100", Example: "5", Doc: "closed loop: how often it is played, each time with other phases and noise; left out: 1"},
	{Name: "power_up", Kind: language.Flag, Doc: "the board is restarted at the case's start, and the car is at rest then, unless the case or its first step says a speed or a yaw rate; left out: no"},
	{Name: "where_wired", Kind: language.Flag, Doc: "the case is skipped where the bench lacks a wire, or the checksum, that it faults; left out: no, and that is a mistake"},
	{Name: "where_demand", Kind: language.Word, Words: []string{demandLimited, demandLimitedTwice}, Doc: "the case is part of the suite for cars alone whose policy limits the demand, by yaw_limit or lateral_limit, or twice, by both; left out: for all cars"},
	{Name: "where_shift", Kind: language.Word, Words: []string{shiftBounded}, Doc: "the case is part of the suite for cars alone whose policy bounds the shift, by shift_at with most; left out: for all cars"},
	{Name: "where_declared", Kind: language.Word, Many: language.OneOrList, Words: PolicyTable.Names(), Doc: "the case is left out of the suite where the policy lacks one of these keys, or says none there, and so is each of its variants whose gain lies off a position that the trim does not have; left out: it is not"},
	{Name: "up_to", Kind: language.Word, Words: powerWords, Doc: "highest power level that it may be played at; left out: signals_only where the throttle goes above 20 %, a wire is faulted or a limit is tested, else wheels_off_ground"},
	{Name: "expect", Kind: language.Group, Many: language.List, Required: true, Forms: expectForms, Doc: "what the motor commands should do"},
	turnKey,
}, playedKeys)

// The words for policies whose demand is limited, at all or in both ways.
const (
	demandLimited      = "limited"
	demandLimitedTwice = "limited_twice"
)

// shiftBounded is the word for policies whose shift has a bound.
const shiftBounded = "bounded"

// isPart says whether the case is part of its suite for the car, as it is where no car is known.
func (b *caseBuilder) isPart() bool {
	ways := map[string]int{demandLimited: 1, demandLimitedTwice: 2}[b.v.Word("where_demand")]
	if b.car == nil {
		return true
	}
	at := b.car.Policy.ShiftAt
	bounded := at != nil && at.Most > 0
	return b.limitsDemand() >= ways && (bounded || !b.v.Written("where_shift"))
}

var eachTable = language.NewTable("each", "",
	changed(append([]language.Key{turnKey}, pointed(stimulusKeys)...), func(k *language.Key) { k.Many = language.List }))

var togetherTable = language.NewTable("a row of together", "", []language.Key{turnKey}, pointed(stimulusKeys))

var (
	holdTable     = language.NewTable("a hold", "", playedKeys, stepKeys)
	baselineTable = language.NewTable("a baseline", "", baselineKeys)
	stepTable     = language.NewTable("a step", "", []language.Key{{Name: "step", Kind: language.Text, Required: true, Example: "first", Doc: "name of the step"}, turnKey}, playedKeys, stepKeys)
)

// mostCases is how many cases a suite may have once it is expanded.
const mostCases = 5000

// mostReplays is how often a suite may replay a drive log once it is expanded.
const mostReplays = 100

// mostSteps is how many steps a case may have.
const mostSteps = 64

// SuiteOptions is what a suite is read with. All may be nil.
type SuiteOptions struct {
	// Car gives the demand where a yaw rate is written as a share of it; Bench the
	// wires. Where one is nil, because its own file was wrong, what depends on it is
	// left at 0 and not checked.
	Car   *Car
	Bench *Bench
	// Read returns the bytes of a drive log. path is the name that the suite file
	// gives, put behind the folder of the suite file's own path with slashes. Where Read
	// is nil, a suite that replays a log is a problem.
	Read func(path string) ([]byte, error)
	// Curve is what the motors are commanded over the throttle with no shift, as it was measured, by which
	// points of the throttle are found; nil: they are found as if it were the throttle itself.
	Curve *law.Curve
}

// suiteReader is what the cases of a suite share.
type suiteReader struct {
	anyPolicy bool // the suite is for cars with any policy
	curve     *law.Curve
	readLog   func(path string) ([]byte, error)
	logs      map[string]*driveLog // by path; one that is wrong has no times
	played    []language.Source
}

// ParseSuite reads a suite file that replays no drive log; see [ParseSuiteWith].
func ParseSuite(s language.Source, car *Car, bench *Bench) (*Suite, error) {
	return ParseSuiteWith(s, SuiteOptions{Car: car, Bench: bench})
}

// ParseSuiteWith reads a suite file and expands its cases: in the order of the
// file, those of one case in the order of its each lists, the last list fastest.
// Where car and bench are given, it is an error too if they cannot play the
// suite. The error is of type [language.Problems].
func ParseSuiteWith(s language.Source, o SuiteOptions) (*Suite, error) {
	r, v := open(s, SuiteTable)
	if v == nil {
		return nil, r.Problems.Sorted()
	}
	suite := &Suite{Source: s, Name: v.Word("suite"), About: v.Word("about"), AnyPolicy: v.Flag("any_policy")}
	shared := &suiteReader{anyPolicy: suite.AnyPolicy, curve: o.Curve, readLog: o.Read, logs: map[string]*driveLog{}}
	names, replays := map[string]int{}, 0
	for _, c := range v.List("cases") {
		if c.Bad {
			continue
		}
		b := &caseBuilder{reader: r, suiteReader: shared, car: o.Car, bench: o.Bench, v: c.Mapping, defaults: v.Sub("defaults")}
		if n := c.Mapping.Get("case"); n != nil {
			if line, twice := names[n.Word]; twice {
				r.Report(n.Node, fmt.Sprintf("case %q stands twice, first on line %d", language.Brief(n.Word), line), "give it another name")
			} else {
				names[n.Word] = n.Node.Line
			}
		}
		if room := mostCases - len(suite.Cases); b.combinations() > room {
			r.Report(c.Node, fmt.Sprintf("the suite has more than %d cases once it is expanded", mostCases), "shorten the lists of each, or split the suite")
			break
		}
		if c.Mapping.Written("replay") {
			if replays += b.combinations(); replays > mostReplays {
				r.Report(c.Node, fmt.Sprintf("the suite replays drive logs more than %d times once it is expanded", mostReplays), "shorten the lists of each, or split the suite")
				break
			}
		}
		if cases := b.cases(); b.isPart() {
			suite.Cases = append(suite.Cases, cases...)
		}
	}
	suite.Logs, suite.notes = shared.played, r.notes
	if len(r.Problems) == 0 {
		r.Problems = append(r.Problems, impossible(suite, o.Car, o.Bench)...)
	}
	if len(r.Problems)+len(r.others) > 0 {
		r.Problems.Sort()
		return nil, append(r.Problems, r.others...)
	}
	return suite, nil
}
