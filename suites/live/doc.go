// Package live decides whether a bench may go live, so that its motors can have their
// supply: at which level that is allowed, what a person has to confirm first, and that
// what was confirmed is what is played.
//
// [Ask] says whether a power level may go live at all and whether a person is to be
// asked. [List] is what that person has to confirm, and [Confirms] says whether an answer
// does. [Limit] and [Watched] say what the motors' commands are held to from then on. [Inputs] keeps
// every file of a run as it was read first, so that a file saved while the list is shown
// changes nothing.
//
// Everything here is a function of what it is given: it reads no terminal, no clock and
// no file of its own, and prints nothing. None of it is a safety device.
//
// # Units and signs
//
// A limit is a share of full motor command, 0 to 1, either way.
package live
