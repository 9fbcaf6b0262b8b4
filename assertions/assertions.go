// Package assertions holds the checks: pure functions from what a case
// produced to verdicts.
//
// [Judge] holds a [Check] against [Evidence] (the trace of one case, the steps that
// were played, the owner's [Policy]) and returns a [Result] for each thing that it
// found. A result holds a [Measurement], an estimate with an interval, held against a [Limit]
// with a guard band: pass when the interval lies wholly inside the limit, fail when
// wholly outside, else undecided, which is not a pass.
// A result without a measurement is never a pass and says why it has none.
//
// # Units and signs
//
// SI inside and ISO 8855 signs; motor commands and shares are fractions of the
// command range. A [Measurement] carries the unit that its numbers are to be
// shown in and is already scaled to it ("%", "deg/s", "ms").
//
// # Time
//
// signal.Time since the run began. Means go over output frames, not ticks: the
// frames of a step are those that ended inside its window.
//
// # Sources
//
// JCGM 100:2008 (expression of uncertainty), JCGM 106:2012 (role of
// uncertainty in conformity assessment, guard bands).
package assertions

import (
	"math"

	"hilrig/rig/signal"
	"hilrig/rig/trace"
	"hilrig/stimulus"
)

// Check is one expectation of a case, one of the types of this package. [Judge] holds it
// against evidence.
type Check interface {
	// judge holds the check against what is there, whether or not the rig kept time.
	// It returns one result for each thing found, at least one, and changes nothing.
	judge(e *Evidence) []Result
}

// Verdict is what a check came to.
type Verdict uint8

// The verdicts.
const (
	Pass Verdict = iota
	Fail
	Undecided // not a pass; Result.Why says what would decide it
	NotAsked  // the policy leaves the key out
)

var verdictNames = [...]string{"pass", "fail", "undecided", "not asked"}

// String returns the verdict's word.
func (v Verdict) String() string { return verdictNames[v] }

// Limit is what an estimate is held against: Low <= x <= High. Use infinities
// where one side is open.
type Limit struct {
	Low, High float64
}

// AtLeast and AtMost return limits that are open on one side.
func AtLeast(x float64) Limit { return Limit{x, math.Inf(1)} }

// AtMost returns the limit that x stands above.
func AtMost(x float64) Limit { return Limit{math.Inf(-1), x} }

// Result is one thing that a check found. What it measured, if anything, is told by
// [Result.Measurement]: a result of which nothing was measured (not asked, no frames)
// holds no numbers.
type Result struct {
	Name    string // in the trade's words: "understeer: outside_rear raised"
	Verdict Verdict

	At   signal.Time // where to look in the trace
	Step string      // the step it was read in
	Why  string      // for fail and undecided: what is wrong in a sentence, or what would decide it
	// LeftOut is how many trials, updates or frames were not used, for the rig was
	// late or the sampler left them open.
	LeftOut int

	sifted   bool        // it rests on what the rig played in time alone
	measured Measurement // without a quantity where nothing was measured
}

// Evidence is what a case produced, for its checks to read.
type Evidence struct {
	Trace  *trace.Trace
	Policy *Policy
	Steps  []Step // in order of time; the baseline, where there is one, first
	// CommandStep is the smallest difference that the motor line's format and
	// the sampler can show, as a share of range: 0.001 for a servo pulse timed to 1 us.
	CommandStep float64
	// Off and NoBoard are the same case played with the gain at zero, and with the
	// throttle passed on to all four motors; nil where the case does not ask for them.
	// Repeats are further plays of the same case with other phases and noise; each has its own steps.
	Off, NoBoard *Evidence
	Repeats      []*Evidence
	// Release is when the plant took over in closed loop.
	Release signal.Time
	// Lowest is the lowest command of the motor lines' scale: 0 one way, -1 with a neutral.
	Lowest float64

	sifted []sifting // what screened worked out, of each step that was disturbed
}

// Step is one stretch of a case in which the stimulus was held.
type Step struct {
	Name     string      // "baseline", "hold", or as the suite names it
	Baseline bool        // what shifts are counted from
	Applied  signal.Time // when the step's values were applied
	From, To signal.Time // the window that is measured, [From, To)
	Steer    float64     // rad
	Speed    float64     // m/s
	YawRate  float64     // rad/s
	Demand   float64     // rad/s, by the policy, at this speed and steer
	Throttle float64     // share
	Gain     float64     // share

	// Changes are the times at which a trial's stimulus changed, for steps that
	// are trials; the change is on the wire at the first pulse or frame after it.
	Changes []signal.Time
	// Changed is the channel that changes or is swept in this step.
	Changed trace.Channel
	// Levels are the two values of Changed between which trials alternate, the first as held before.
	Levels [2]float64
	// Swept says that Changed goes slowly from one value to another and back within the window.
	Swept bool
	// Moving says that values are not held in this step: they follow shapes or a drive log.
	Moving bool
	// Faults are what is wrong with the wires in this step, times as the trace's.
	Faults []stimulus.Fault
	// PowerUp says that the board was powered up as this step was applied, with
	// no rest in between.
	PowerUp bool
}

// Turn returns the sense of the turn in which the step's outside and inside
// are named: +1 left, -1 right, 0 where there is none. By the policy it is
// that of the yaw rate or of the steer angle; where that is 0, the other's.
func (s *Step) Turn(p *Policy) int {
	first, second := s.YawRate, s.Steer
	if p.TurnFrom == TurnFromSteer {
		first, second = s.Steer, s.YawRate
	}
	if first == 0 {
		first = second
	}
	switch {
	case first > 0:
		return 1
	case first < 0:
		return -1
	}
	return 0
}

// Step returns the step with that name; the empty name means the last step.
func (e *Evidence) Step(name string) (*Step, bool) {
	if name == "" && len(e.Steps) > 0 {
		return &e.Steps[len(e.Steps)-1], true
	}
	for i := range e.Steps {
		if e.Steps[i].Name == name {
			return &e.Steps[i], true
		}
	}
	return nil, false
}

// Baseline returns the step that shifts are counted from.
func (e *Evidence) Baseline() (*Step, bool) {
	for i := range e.Steps {
		if e.Steps[i].Baseline {
			return &e.Steps[i], true
		}
	}
	return nil, false
}
