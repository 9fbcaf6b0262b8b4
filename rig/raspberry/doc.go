// Package raspberry chooses how a bench on the pins of a Raspberry Pi is played, in real
// time.
//
// [OpenPins] opens a bench: by registers (package registers) where the model has them, else
// by the kernel's GPIO character device, and [OpenLines] lines one by one. [LookUp] looks
// whether others have the pins.
//
// A [CharBench] does without registers, on a Pi 5 or any other Linux board: it drives
// lines by calls of the kernel's GPIO character device (chardev_play.go), and the kernel
// stamps the edges of captured lines (chardev_listen.go), up to the rate of OneShot125.
// What the kernel loses spoils the pulse that it belonged to, and is counted in
// [CharBench.Timing].
//
// Nothing here has been tried on a real Pi yet.
//
// # Units and signs
//
// A pin is named by its GPIO number, that of the chip's maker.
//
// # Time
//
// On a [CharBench] time is CLOCK_MONOTONIC, which stamps the edges. All stamps are late by
// about the same; they differ by [StampDoubt] at most, which is an edge's uncertainty.
package raspberry
