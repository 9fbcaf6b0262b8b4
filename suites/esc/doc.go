// Package esc measures a speed controller (ESC) on a stand: it plays its throttle line over a bench,
// hears the motor, and makes of it what [hilrig/assertions/characteristic] judges.
//
// A [Setup] is a stand file with what stands in for the stand, or carries it; [Setup.Run] plays its
// plan and returns an [Outcome]: the sets of readings, their figures, their correction tables, what was
// odd on the way, and the result as a record keeps it.
//
// # Run-ups
//
// Where the shaft turns an inertia, torque is inertia times angular acceleration. Each level is a run-up:
// the shaft coasts below the held speed, a short hold of the next lower level (on the way up) or of the
// next higher one (on the way down) gives the level its direction, then the level turns the shaft through
// the held speeds and a margin beyond, and at idle it coasts again. The acceleration at a held speed comes
// from the times of the encoder's edges ([hilrig/assertions/measure.Fitter]); coasting through the same
// speed gives the drag. A level whose speed comes to rest below a held one does not reach it.
//
// # Staircases
//
// Where the shaft is locked or a brake holds its speed, each level is held for the dwell and the output
// is the mean over the window at its end, from the load cell or a current.
//
// # Safety
//
// What is measured stands over what is safe on no account: every bound of the file ends the run at idle
// ([Tripped]), and so does a sensor that falls silent while the motor is driven. Idle is sent first, then
// the line falls silent. Idle is not rest: a shaft is called at rest when its encoder was still. None of
// this is a safety device: it is a program on a computer that may stop at any time.
//
// # Units and signs
//
// SI. Commands are shares of full throttle; speeds and torques are positive in the sense of a positive
// command.
//
// # Time
//
// signal.Time. One tick of the bench is one turn of the loop: what was captured by its beginning is
// read, and the edges of the next tick are handed over. On a simulated stand time is virtual and the
// same seed gives the same outcome.
package esc
