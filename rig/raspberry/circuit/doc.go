// Package circuit is what stands between a Pi, a board and a powered motor: which parts, of what
// values, why, and how they are switched on. [Work] works the values out for a supply, [Parts]
// lists them, [SVG] draws them with the pins of a bench. [Simulated] is the circuit behind lines
// in memory, with faults.
//
// Two contactors in series open the motors' supply. In series in their coils are a stop
// contact, a dead-man contact that the heartbeat holds by a monostable, and the program's own. No
// small contact stands in the motors' supply, but for that of the pre-charge, whose current a
// resistor limits.
//
// It is common practice drawn up with care, and no safety device: it has no rating, and is for
// somebody qualified to check.
//
// # Units and signs
//
// V, A, ohm, F, W, J and s. A capacitance is that of all controllers together.
//
// # Sources
//
// Data sheets of families of parts, each named beside its number; where none is named it is common
// practice, no source.
package circuit
