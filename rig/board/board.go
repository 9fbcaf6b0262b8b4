// Package board holds boards for the simulated bench: controllers in virtual
// time.
//
// A [Board] takes the edges that the rig drives and gives back its own. The
// [BuiltIn] controller is a four-motor torque-vectoring firmware: it reads
// four quadrature encoders, three receiver pulses and a serial yaw-rate sensor,
// works out the yaw rate that the driver asks for, and shifts torque between
// the wheels. It is written as firmware is: capture handlers on edges, a serial
// receiver that samples bits, a control loop and a pulse generator on their own
// timers. Its constants stand in [Settings]; [Bramble] gives the demo car's.
// [WithFault] switches on one of its seeded faults, known defects that a test
// suite has to find. [NewNull] gives boards that control nothing.
//
// This package uses none of the rig's own encoders, decoders or car model: a
// board written with them would share their mistakes.
//
// # Units and signs
//
// SI inside; yaw rate and steer angle are positive to the left. Motor commands
// are shares of range, 0..1, sent as pulses of a whole number of microseconds.
//
// # Time
//
// signal.Time. A board has a clock of its own, which may run fast or slow.
// What a board does depends on its settings, its seed and the edges alone, not
// on how its time is cut into calls of Run.
//
// # Sources
//
// CRC-8 with polynomial 0x07 and initial value 0: the catalogue of parametrised
// CRC algorithms lists it as CRC-8/SMBUS. The pseudo-random generator: Steele,
// Lea, Flood, "Fast splittable pseudorandom number generators", 2014.
package board

import "hilrig/rig/signal"

// Board is a controller in virtual time. It is used by one goroutine.
type Board interface {
	// Name says which board this is, in messages: "built-in", "built-in:no_cap".
	Name() string

	// Run takes the driven edges that were not handed over before, in order of
	// time, none earlier than the last call's until and none later than until. It
	// runs the board up to and including until and appends the board's own edges
	// in order of time, none earlier than the last call's until. It keeps no
	// reference to in. An error means that the board has failed for good.
	Run(in []signal.Edge, until signal.Time, out []signal.Edge) ([]signal.Edge, error)

	// Restart is a power cycle at a time not before the last call's until: all
	// state is lost. Outputs that are not at their idle level return to it with an
	// edge at that time, which the next Run appends.
	Restart(at signal.Time) error

	// Close ends the board. It may be called more than once.
	Close() error
}
