// Package law says what a board that keeps its owner's policy may command.
//
// [Policy] is what the owner declares. [Law] turns it and the history of the values that went
// out on the wires into the interval of commands that a board keeping the policy may send,
// for each motor at each moment. All tolerances that the owner declares are composed at their
// worst; the uncertainty of what is measured is no part of it.
package law
