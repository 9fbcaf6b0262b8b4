// Package law says what a board that keeps its owner's policy may command.
//
// [Policy] is what the owner declares. [Law] turns it and the history of the values that went
// out on the wires into the interval of commands that a board keeping the policy may send,
// for each motor at each moment. All tolerances that the owner declares are composed at their
// worst; the uncertainty of what is measured is no part of it.
//
// [Law.At] is the law of inputs that stay as they are; [Law.Frame] that of one command of a
// drive, whose inputs may be any in the horizon before it; [Law.Mean] that of the mean of
// many, in which noise averages out. [Law.Wants] says before anything is played what is asked of
// each motor, and why nothing is; [Law.GainFor] and its like find points at which something is.
//
// # What is left open
//
// A word that is left out stands for all of its words; a size, for any; a key without which
// nothing can be said makes [Answer.Missing], and commands then only have to lie within
// cap and floor. A cap or a floor that is left out may be there or not, with any word for what
// is done at it. The shift may be held back or not nearly straight on, and the trim may
// be a switch, where [Policy.Unsaid] says that nothing is said of it: what depends on that is known clear of
// the straight, and at the ends of the trim. Other behaviour that is left out, as a dead band or traction
// control, is taken as not there. Thresholds are met about: steering within a slack, speeds
// within a fifth. Where 0 is neither left nor right it is either.
package law
