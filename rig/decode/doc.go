// Package decode turns edges to commands: what the board says on its motor lines,
// read from their levels; and to what a stand measures.
//
// A [ServoDecoder] reads motor commands that are sent as servo pulses, a
// [DShotDecoder] those that are sent as digital frames; a [Motor] says which. Each is fed the
// edges of its line in order of time and appends what it finds to a
// trace.Output: a frame when it is complete, an event for what went wrong. Nothing on
// a wire is an error and nothing panics: a board may put out anything.
//
// Of a stand, an [Angle] reads the encoder on the motor's shaft, a [LoadCell] the
// converter of a load cell, and an [ESCTelemetry], by [SerialBytes], what the speed controller
// says of itself. Each appends to an output of its own kind and counts what was wrong.
//
// A [Reading] says what a motor was asked for at least, by every pulse, those that give no
// frame among them. Whoever has to hold motors to a limit goes by that.
//
// A decoder remembers where it is and is used by one goroutine. Nothing is allocated
// for an edge, except where the output has to grow.
//
// # Units and signs
//
// Servo commands are 0..1, or -1..1 with a neutral; they are not clipped, so
// that a pulse beyond full says so. Uncertainty has the unit of the value.
//
// # Time
//
// signal.Time. The true time of an edge lies in (At-Uncertainty, At]: what the sampler
// left open goes into a frame's uncertainty. Until tells a decoder that time has passed
// without an edge; without it, a silent line is noticed only at its next edge.
package decode
