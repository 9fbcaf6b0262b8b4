// Package live stands before a bench that goes live: who may have it so, what a person
// has to confirm before, and that what was confirmed is what is played.
//
// [Ask] says whether a power level may go live at all and whether a person is to be
// asked; [List] is what that person is asked, [Confirms] how the answer is judged. [Limit]
// and [Watched] say what the motors' commands are held to from then on. [Inputs] keeps
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
