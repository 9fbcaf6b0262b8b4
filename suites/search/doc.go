// Package search plays drawn drives to a board and holds every command to the policy. Written
// cases find what somebody thought of; this finds some of the rest.
//
// A drive is a case of the suite language, drawn by the seed: pieces in which speed, steer, yaw
// rate, throttle and gain are held, leap or ramp, some of them after a long straight; an
// operating point of which one situation of the policy is asked, as a shift, a limit, a power-up or a
// response, some of them after the car turned slowly with its wheels straight; or one at which a wire is lost and comes
// back, or a pulse of the receiver stands for nothing. Car and bench say how far it goes. [Run] plays
// drives in rounds of a fixed size, each to a board that was just powered up, and judges them as [suites.Setup.Run] judges any case: by what the policy says of
// every command, of the situation, and of losses and what follows on them. Nothing else is asked, so
// that a policy that leaves something out leaves it free.
//
// What was reached guides what is drawn: a drive in which channels and commands came to values
// that none came to before is changed and played again. A check that fails is shrunk: pieces are
// left out, made shorter, held instead of ramped, and their values rounded, as long as the same
// check fails at the search's seed and at another; the last has to fail at a third. What is found
// is the text of a suite file.
//
// What is found depends on the seed and not on how fast the machine is, nor on how many
// processors it has.
//
// # Units and signs
//
// A drive has its values in the units that it is written in: m/s, deg, deg/s, %; lengths in ms.
// Axes are those of ISO 8855.
package search
