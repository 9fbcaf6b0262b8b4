// Package pinout knows the 40-pin header of a Raspberry Pi, and touches none of its
// pins.
//
// [Identify] tells which [Model] a computer is, from its device tree; [Model.Limits] how
// its pins are reached, why, and what it can play and capture therefore; [Widest] is the
// most of all models. [Holes] is the
// header. [Wires] is what a bench file says of it: [Wires.Propose] gives pins to wires
// without one, [Wires.Table] says of each what stands between Pi and board, [WriteTable],
// [WriteHeader] and [HeaderSVG] show it. [Plugs] answers "Will my board plug in?".
//
// # Units and signs
//
// A line is named by its GPIO number, that of the chip's maker; a position on the
// header counts from 1. Directions are seen from the Pi.
//
// # Sources
//
// raspberrypi/documentation, gpio-on-raspberry-pi.adoc; torvalds/linux,
// Documentation/devicetree/bindings/arm/bcm/bcm2835.yaml; what a limit rests on
// stands beside it.
package pinout
