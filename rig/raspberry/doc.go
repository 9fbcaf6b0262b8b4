// Package raspberry chooses how a bench on the pins of a Raspberry Pi is played, in real
// time.
//
// [OpenPins] opens a bench: by registers (package registers) where the model has them, else
// by the kernel's GPIO character device (package chardev), and [OpenLines] lines one by one.
// [LookUp] looks whether others have the pins.
//
// Nothing here has been tried on a real Pi yet.
//
// # Units and signs
//
// A pin is named by its GPIO number, that of the chip's maker.
package raspberry
