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

// Check is one expectation of a case, one of the types of this package. [Judge] holds it
// against evidence.
type Check interface {
	// judge holds the check against what is there, whether or not the rig kept time.
	// It returns one result for each thing found, at least one, and changes nothing.
	judge(e *Evidence) []Result
}
