// Package compare holds two records against each other: what of the checks is better, worse, newly
// failing, passes now, is judged no longer or for the first time, and which change of the board
// the others follow from.
//
// [Of] is a pure function of two [Run]s and of what is [Known] about what both played. Checks are
// matched by suite, case, name, step and occurrence. A difference counts only beyond what both
// measurements leave open, for each kind of check by its own rule; see uncertainty.go. Many checks are many
// chances, so that the level of 1 % is that of the whole comparison; see [Level].
//
// Where many checks show one change of the board, that is one [Cause], found from all of them
// together, and what follows from it stands under it; see cause.go. Where both records played
// the same, the four commands are compared along each case too; see along.go.
//
// # Units and signs
//
// Numbers of a change are in the unit of their check. Room is how far an estimate stands inside the
// nearer of its limits: below 0 beyond it.
//
// # Sources
//
// JCGM 100:2008 for uncertainties that are combined; C. E. Bonferroni (1936) for the level, from memory.
package compare

import (
	"slices"

	"hilrig/plant"
	"hilrig/stimulus"
	"hilrig/suites/record"
)

// Run is one record with what is kept beside its result.
type Run struct {
	Record *record.Record
	Inputs []record.Input
	Alongs map[Place]*record.Along // by the cases' places in the plan; nil: none are kept
}

// Place is a case's place in a plan, counted from 0.
type Place struct{ Suite, Index int }

// Known is what is known of what both runs played, beside the records. The zero value knows nothing.
type Known struct {
	// Reading returns what a board may read differently from one run to the next, in a step of
	// a case of the first record; of all its steps the most where step is empty.
	Reading func(at Place, step string) Reading
	// Closed says whether the board drives the car in a case of the first record.
	Closed func(at Place) bool
	// Moving returns how far the command of each motor may go, share of range, while a board has each of what is played as
	// it was at some moment between two ends; not a number where nothing is known.
	Moving func(low, high stimulus.Values) [len(plant.Wheels)]float64
	// CommandStep is the least difference between two commands, share of range.
	CommandStep float64
	// Response is what the policy allows a response to take, ms; 0: it does not say.
	Response float64
}

// Reading is how far a board may take the same stimulus differently, for its timer reads a
// receiver's pulse one step longer or shorter by where the pulse falls between two of its ticks.
// That stays through a run and is drawn anew in the next. NaN: not known.
type Reading struct {
	Shift    float64 // what that makes of the shift of a motor, share of range
	Throttle float64 // what it makes of a command without a shift, share of range
	Demand   float64 // what it makes of the demanded yaw rate, share of that
}

// Include widens r to what is the larger of both, in each.
func (r *Reading) Include(o Reading) {
	r.Shift, r.Throttle, r.Demand = max(r.Shift, o.Shift), max(r.Throttle, o.Throttle), max(r.Demand, o.Demand)
}

// Kind is what came of a check.
type Kind string

// The kinds, those that count most first.
const (
	NewlyFailing   Kind = "newly failing"        // it fails, and did not
	Worse          Kind = "worse"                // the room to its limit shrinks
	NoLongerJudged Kind = "no longer judged"     // it was, and is left open, not asked or not played
	NotComparable  Kind = "not comparable"       // its numbers are of different units
	Different      Kind = "different"            // it differs, and its room does not
	Unasked        Kind = "different, not asked" // commands differ that no check tells of
	Better         Kind = "better"               // the room to its limit grows
	PassesNow      Kind = "passes now"           // it failed
	JudgedNow      Kind = "judged now"           // it was not judged
	Same           Kind = "same"
)

// Kinds lists them in that order.
var Kinds = [...]Kind{NewlyFailing, Worse, NoLongerJudged, NotComparable, Different, Unasked, Better, PassesNow, JudgedNow, Same}

// Change is one check that is not the same, or one case whose commands are not.
type Change struct {
	Kind  Kind   `json:"kind"`            // in which way it is not the same
	Suite string `json:"suite"`           // its name
	Case  string `json:"case"`            // its name, with the variant
	Check string `json:"check,omitempty"` // absent: no check tells of it
	Step  string `json:"step,omitempty"`  // of the case
	Motor string `json:"motor,omitempty"` // where no check tells of it
	AtNS  int64  `json:"at_ns,omitempty"` // the same
	Unit  string `json:"unit,omitempty"`  // of all its numbers

	// Before and After are the estimates; absent where nothing was measured.
	Before *float64 `json:"before,omitempty"`
	After  *float64 `json:"after,omitempty"` // the estimate after; absent: nothing was measured
	// Counts is the difference from which on one counts; absent where there is none.
	Counts *float64 `json:"counts_from,omitempty"`
	// RoomBefore and RoomAfter are from the interval to the limit; absent where there is no limit.
	RoomBefore *float64 `json:"room_before,omitempty"`
	RoomAfter  *float64 `json:"room_after,omitempty"` // the same after

	VerdictBefore string `json:"verdict_before,omitempty"` // "not played" where the case was not
	VerdictAfter  string `json:"verdict_after,omitempty"`  // the same after
	Why           string `json:"why,omitempty"`            // in a sentence
	// Follows is the name of the cause that this follows from; absent: it stands for itself.
	Follows string `json:"follows_from,omitempty"`

	// Checks are the check itself, before and after; nil where it is not there, or no check tells of it.
	Checks [2]*record.Check `json:"-"`
	// Places are those of its case in both plans, each -1 where the case is in one record alone.
	Places [2]Place `json:"-"`
}

// Cause is one change of the board that several checks show.
type Cause struct {
	Name   string  `json:"name"`   // "loop rate"
	Kind   Kind    `json:"kind"`   // Worse, Better or Different
	Unit   string  `json:"unit"`   // of all its numbers
	Before float64 `json:"before"` // the estimate
	After  float64 `json:"after"`  // the estimate
	Low    float64 `json:"low"`    // After less Before lies between these, at the level of a cause
	High   float64 `json:"high"`   // the other end
	// Follows counts the changes that follow from it.
	Follows int `json:"follows"`

	explains func(p *pair) bool
}

// Level is how likely a comparison of one and the same board finds any difference at all by chance.
// Half of it is for causes, half for single checks, each evenly (Bonferroni).
type Level struct {
	Level       float64 `json:"level"`       // of the whole
	Causes      int     `json:"causes"`      // that are looked for
	Comparisons int     `json:"comparisons"` // of single checks
}

// level is that of a comparison: common practice, no source.
const level = 0.01

func (l *Level) ofCause() float64 { return l.Level / 2 / float64(max(l.Causes, 1)) }
func (l *Level) ofCheck() float64 { return l.Level / 2 / float64(max(l.Comparisons, 1)) }

// Comparison is what came of comparing two records.
type Comparison struct {
	Before string `json:"before"` // folder
	After  string `json:"after"`  // folder
	// Changed says in sentences what of car, bench and suites is not the same, so that what
	// rests on it is not compared.
	Changed []string     `json:"changed,omitempty"`
	Level   Level        `json:"level"`
	Causes  []Cause      `json:"causes"`
	Changes []Change     `json:"changes"`         // those that are not the same, in the order of the plan
	Counts  map[Kind]int `json:"counts"`          // how many checks are of each kind
	Alongs  int          `json:"alongs_compared"` // cases whose commands were compared along them
}

// Exit returns the exit code that the comparison comes to: 1 where something is worse or newly
// failing, 2 where something is judged no longer or not comparable, else 0.
func (c *Comparison) Exit() int {
	switch {
	case c.Counts[Worse]+c.Counts[NewlyFailing] > 0, slices.ContainsFunc(c.Causes, func(x Cause) bool { return x.Kind == Worse }):
		return 1
	case c.Counts[NoLongerJudged]+c.Counts[NotComparable] > 0, len(c.Changed) > 0:
		return 2
	}
	return 0
}

// Of compares two runs. Both records have to be whole: nothing is wrong with them, and neither is of
// a speed controller.
func Of(before, after *Run, known *Known) *Comparison {
	c := &comparer{a: before, b: after, known: known, readings: map[stepOf]Reading{}, out: &Comparison{
		Before: before.Record.Folder, After: after.Record.Folder,
		Causes: []Cause{}, Changes: []Change{}, Counts: map[Kind]int{},
	}}
	c.match()
	c.out.Level = Level{Level: level, Causes: len(causes), Comparisons: max(c.measured(), 1)}
	c.phase = c.phaseOf()
	for i := range c.pairs {
		c.judge(&c.pairs[i])
	}
	c.findCauses()
	c.along()
	c.collect()
	return c.out
}

// Changed says in sentences what keeps all of two runs from being compared: that car or bench, or the
// files of each suite, are not the same. It is empty where something can be.
func Changed(before, after *Run) []string {
	c := &comparer{a: before, b: after, known: &Known{}, out: &Comparison{}}
	if c.match(); len(c.cases) > 0 {
		return nil
	}
	if len(c.out.Changed) == 0 {
		c.changed("it has none of the suites")
	}
	return c.out.Changed
}

// SamePlan says whether two runs are of the same car, bench and suites.
func SamePlan(before, after *Run) bool {
	c := &comparer{a: before, b: after, known: &Known{}, out: &Comparison{}}
	c.match()
	a, b := before.Record.Result, after.Record.Result
	if len(c.out.Changed) > 0 || len(a.Suites) != len(b.Suites) {
		return false
	}
	for i := range a.Suites {
		if suiteNamed(b, a.Suites[i].Name) < 0 {
			return false
		}
	}
	return true
}

// comparer compares two runs.
type comparer struct {
	a, b  *Run
	known *Known
	out   *Comparison
	pairs []pair
	cases []caseOfBoth

	readings map[stepOf]Reading // those that were asked for

	phase float64 // ms: see phaseOf
	turn  float64 // ms: by how much a turn of the loop is longer; 0 where its rate is the same
	late  float64 // ms: by how much commands may come later or sooner by a cause
	grown float64 // share of a shift by which it grows by a cause
}

// collect counts the pairs and lists those that are not the same.
func (c *comparer) collect() {
	for i := range c.pairs {
		p := &c.pairs[i]
		c.out.Counts[p.kind]++
		if p.kind != Same {
			x := p.change()
			x.Places = c.placesOf(p)
			c.out.Changes = append(c.out.Changes, x)
		}
	}
	for i := range c.out.Causes {
		k := &c.out.Causes[i]
		k.Follows = 0
		for j := range c.out.Changes {
			if c.out.Changes[j].Follows == k.Name {
				k.Follows++
			}
		}
	}
}

// seeded says whether both boards drew the phases of their timers from the same seed: those that
// are built in do in virtual time, so that these phases are what both share.
func (c *comparer) seeded() bool {
	a, b := c.a.Record.Result, c.b.Record.Result
	builtIn := func(r *record.Result) bool { return r.Real == "" && r.Board.File == "" && r.Board.Digest == "" }
	return a.Seed == b.Seed && builtIn(a) && builtIn(b)
}
