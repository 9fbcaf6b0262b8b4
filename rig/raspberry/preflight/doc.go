// Package preflight tries, before any motor is powered, whether all is well.
//
// What has to be well is tried in turn, each with a [Result] and its remedy: the machine
// ([Machine.Ready]), how well it keeps time ([TryTimeOnPinBank], [TryTimeByDevice]), the wires
// ([TryPins], [Loopback]), the board ([Alive]), and with a [Person] at the bench stop
// contact and relay ([TryStop], [TryRelay]). As motors turn for the first time, [Gentle] judges what
// the board asks of them, and [TryRotation] asks a person which wheel turned and which way.
// [Rehearsal] is a bench in memory to try all of it on.
//
// Nothing of it powers a motor: who tries the lines holds no relay by itself, but asks for it
// through the hostlines.Lines that it is given.
//
// # Units and signs
//
// Lines are GPIO numbers, 0: not wired. The stop input is high while its contact is closed.
//
// It is no safety device: what was well when it was tried may fail afterwards.
package preflight
